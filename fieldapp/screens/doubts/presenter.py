"""Doubts, one after the other, with what speaks for each side. Neither answer is recommended. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from shared.records.standing import Screening, Standing, Status

#: How many decisions stand side by side; they look alike.
EQUAL = 2

Pieces = tuple[tuple[str, bool], ...]  # (text, whether it differs from the other side)


@dataclass(frozen=True, slots=True)
class Side:
    """One of the records in question: a heading and (label, pieces) lines."""

    heading: str
    lines: tuple[tuple[str, Pieces], ...]


@dataclass(frozen=True, slots=True)
class DoubtView:
    """``decisions`` are (key, words); all look alike."""

    title: str
    question: str
    reasons: str
    sides: tuple[Side, ...]
    decisions: tuple[tuple[str, str], ...]
    others: tuple[tuple[str, str], ...] = ()  # decisions that are rarely right
    empty: bool = False


def marked(one: str, other: str) -> Pieces:
    """The first text in pieces, those marked that differ from the second."""
    if not one or not other or one == other:
        return ((one, False),) if one else ()
    pieces = []
    for kind, start, end, _from, _to in SequenceMatcher(None, one, other, autojunk=False).get_opcodes():
        if start < end:
            pieces.append((one[start:end], kind != "equal"))
    return tuple(pieces)


class DoubtsPresenter(Presenter):
    """Keeps which doubt is shown; one that is put off comes again at the end."""

    def enter(self) -> None:
        self._doubts: list[Any] = list(self.session.desk.doubts())
        self._total = len(self._doubts)
        self._at = 0

    @property
    def doubt(self) -> Any:
        """The doubt on the screen, or None."""
        return self._doubts[self._at] if self._at < len(self._doubts) else None

    def decide(self, decision: str) -> None:
        """Settle the doubt on the screen."""
        doubt, desk = self.doubt, self.session.desk
        if doubt is not None and self.guarded(lambda: desk.settle(doubt.id, decision)):
            # Deciding one may answer or raise others.
            self._doubts = list(desk.doubts())
            self._at = min(self._at, max(0, len(self._doubts) - 1))
            self._total = max(self._total, len(self._doubts))
            self.changed()

    def ask_others(self) -> None:
        """Decide something that neither side says."""
        t, view = self.t, self.view()
        ways = [(words, "quiet", lambda key=key: self.decide(key)) for key, words in view.others]
        self.session.ask(view.question, "", [*ways, (t("sheet.back"), "strong", lambda: None)])

    def later(self) -> None:
        """Put it off."""
        if self._doubts:
            self._at = (self._at + 1) % len(self._doubts)
            self.changed()

    def view(self) -> DoubtView:
        """The screen as it stands."""
        t, doubt = self.t, self.doubt
        if doubt is None:
            return DoubtView(t("doubts.title"), t("doubts.none"), t("doubts.none_words"), (), (), empty=True)
        kind = doubt.kind.value
        decisions = [(key, self._decision(kind, key, words)) for key, words in doubt.decisions.items()]
        said = (
            t(f"doubts.question_{kind}") if t.has(f"doubts.question_{kind}") else t.sentence(doubt.question)
        )
        # What the two screenings came to is on their cards.
        reasons = "" if kind == "results-disagree" else " · ".join(t.sentence(each) for each in doubt.reasons)
        return DoubtView(
            title=t("doubts.of", at=self._at + 1, total=len(self._doubts)),
            question=said,
            reasons=reasons,
            sides=self._sides(doubt),
            decisions=tuple(decisions[:EQUAL]),
            others=tuple(decisions[EQUAL:]),
        )

    def _decision(self, kind: str, key: str, words: str) -> str:
        if kind == "results-disagree":
            return phrases.sign(Status(key)) + self.t(f"status.{key}")
        if self.t.has(f"doubts.decide_{key}"):
            return self.t(f"doubts.decide_{key}")
        return self.t.sentence(words)

    def _sides(self, doubt: Any) -> tuple[Side, ...]:
        register = self.session.desk.ledger.register
        subjects = doubt.subjects
        if not register.is_child(subjects[0]):
            return (Side(self.session.desk.describe(subjects[0]), ()),)
        if doubt.kind.value == "results-disagree":
            standing = register.standing(subjects[0])
            shown = [s for s in standing.screenings if s.id in standing.disagreeing]
            return tuple(self._screening(standing, screening) for screening in shown[:2])
        one, other = (self._facts(subject) for subject in subjects[:2])
        return (self._record(subjects[0], one, other), self._record(subjects[1], other, one))

    def _facts(self, record: str) -> dict[str, str]:
        t, register = self.t, self.session.desk.ledger.register
        person, standing = register.people()[record], register.standing(record)
        return {
            "name": phrases.name_listed(person),
            "born": phrases.short_date(t, person.born) or t("add_child.unknown"),
            "class": person.class_name or t("next_child.no_class"),
            "number": person.student_number or t("doubts.no_number"),
            "result": phrases.status_line(t, standing),
        }

    def _record(self, record: str, facts: dict[str, str], other: dict[str, str]) -> Side:
        t, desk = self.t, self.session.desk
        entry = desk.ledger.register.entry(record)
        person = desk.ledger.register.people()[record]
        if person.added:
            name = next((d.name for d in desk.devices() if d.device == record.partition("@")[2]), "?")
            tablet = t("top.tablet", name=name) if len(name) <= 3 else name
            heading = t("doubts.added", tablet=tablet, time=phrases.clock_time(t, entry.at if entry else ""))
        else:
            heading = t("doubts.listed")
        lines = tuple(
            (t(f"doubts.{name}"), ((text, False),) if name == "result" else marked(text, other[name]))
            for name, text in facts.items()
        )
        return Side(heading, lines)

    def _screening(self, standing: Standing, screening: Screening) -> Side:
        t, desk = self.t, self.session.desk
        name = next((d.name for d in desk.devices() if d.device == screening.device), "?")
        tablet = t("top.tablet", name=name) if len(name) <= 3 else name
        result = (
            t("doubts.heard_all")
            if screening.passed
            else t("result.missed", tones=phrases.hertz(t, screening.missed))
        )
        facts = {
            "name": phrases.name_listed(standing.person),
            "when": f"{phrases.short_date(t, screening.finished_at)}, {phrases.clock_time(t, screening.finished_at)}",
            "by": screening.author,
            "reseated": t("doubts.yes") if screening.reseated else t("doubts.no"),
            "result": result,
        }
        return Side(
            t("doubts.screened", tablet=tablet),
            tuple((t(f"doubts.{name}"), ((text, False),)) for name, text in facts.items()),
        )
