"""Doubts, one after the other, with what speaks for each side. Neither answer is recommended. No Kivy."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from shared.records.entries import Entry
from shared.records.standing import Screening, Standing, Status

#: What the screen also shows: the joins that the evidence alone made, each of which a person may take apart.
JOINS = "joins"

#: How many decisions stand side by side at least; they look alike.
EQUAL = 2

#: What a failing screening comes to under each of a protocol's words for what follows it.
FOLLOWING = {"rescreen": Status.RESCREEN, "threshold": Status.THRESHOLD, "refer": Status.REFERRED}

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
    decided: str = ""  # the last decision, which can be taken back
    about: str = ""  # how many are ``settled`` already, or who decides
    settled: int = 0
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


def told_apart(one: str, other: str, none: Collection[str]) -> Pieces:
    """The same, but nothing letter by letter where one side says only that it knows nothing."""
    if one != other and (one in none or other in none):
        return ((one, True),)
    return marked(one, other)


def results_marked(sides: Iterable[Side]) -> tuple[Side, ...]:
    """Sides that begin with their result, which is marked where they do not all have the same."""
    sides = tuple(sides)
    if len({side.lines[0] for side in sides}) < 2:
        return sides
    first = [(side.lines[0][0], tuple((text, True) for text, _no in side.lines[0][1])) for side in sides]
    return tuple(Side(side.heading, (line, *side.lines[1:])) for side, line in zip(sides, first, strict=True))


class DoubtsPresenter(Presenter):
    """Keeps which doubt is shown; one that is put off comes again at the end."""

    def enter(self, doubt: str = "") -> None:
        """``doubt``: the id of the one to begin with, or of a join by the evidence; ``JOINS`` for all of these."""
        self._joins = doubt == JOINS or any(each.id == doubt for each in self.session.desk.joins())
        self._settled = 0  # since the screen was opened
        self._at = 0
        self._find_again(doubt)
        self._last: tuple[str, str] | None = None  # the last decision: the doubt's id; in words, of whom

    @property
    def doubt(self) -> Any:
        """The doubt on the screen, or None."""
        return self._doubts[self._at] if self._at < len(self._doubts) else None

    def decide(self, decision: str) -> None:
        """Settle the doubt on the screen; or look at what the evidence joined."""
        if decision == JOINS:
            self.enter(JOINS)
            self.changed()
            return
        doubt, desk = self.doubt, self.session.desk
        if doubt is not None and self.guarded(lambda: desk.settle(doubt.id, decision)):
            words = self._decision(doubt.kind.value, decision, doubt.decisions[decision])
            self._last, self._settled = (doubt.id, f"{words} ({self._about(doubt)})"), self._settled + 1
            self._find_again()
            self.changed()

    def undo(self) -> None:
        """Take the last decision back: its doubt is open again, and on the screen."""
        if self._last is None:
            return
        doubt, desk = self._last[0], self.session.desk
        if self.guarded(lambda: desk.unsettle(doubt)):
            self._last, self._settled = None, self._settled - 1
            self._find_again(doubt)
            self.changed()

    def _find_again(self, wanted: str = "") -> None:
        """Deciding one doubt may answer or raise others."""
        desk = self.session.desk
        self._doubts: list[Any] = list(desk.joins() if self._joins else desk.doubts())
        places = [place for place, doubt in enumerate(self._doubts) if doubt.id == wanted]
        self._at = places[0] if places else min(self._at, max(0, len(self._doubts) - 1))

    def ask_others(self) -> None:
        """Decide something that neither side says."""
        t, view = self.t, self.view()
        ways = [(words, "quiet", lambda key=key: self.decide(key)) for key, words in view.others]
        self.session.ask(view.question, "", [*ways, (t("sheet.back"), "back", lambda: None)])

    def later(self) -> None:
        """Put it off."""
        if self._doubts:
            self._at = (self._at + 1) % len(self._doubts)
            self.changed()

    def view(self) -> DoubtView:
        """The screen as it stands."""
        t, doubt = self.t, self.doubt
        if doubt is None:
            return self._nothing()
        kind = doubt.kind.value
        recorded = self._recorded(doubt)
        decisions = [
            (key, self._decision(kind, key, doubt.decisions[key]))
            for key in sorted(doubt.decisions, key=lambda key: _place(recorded, key))
        ]
        equal = max(EQUAL, len(recorded))
        said = (
            t(f"doubts.question_{kind}") if t.has(f"doubts.question_{kind}") else t.sentence(doubt.question)
        )
        # What the screenings came to is on their cards; they are all of one child.
        if kind == "results-disagree":
            reasons = phrases.name_listed(
                self.session.desk.ledger.register.standing(doubt.subjects[0]).person
            )
        else:
            whole = [t.sentence(each).replace(" ", "\u00a0") for each in doubt.reasons]  # each on one line
            reasons = " · ".join(whole)
        about = t("doubts.about_joins" if self._joins else "doubts.about")
        return DoubtView(
            title=t(
                "doubts.of_joins" if self._joins else "doubts.of",
                at=self._settled + self._at + 1,
                total=self._settled + len(self._doubts),
            ),
            about=t("doubts.settled", count=self._settled) if self._settled else about,
            settled=self._settled,
            question=said,
            reasons=reasons,
            sides=self._sides(doubt),
            decisions=tuple(decisions[:equal]),
            others=tuple(decisions[equal:]),
            decided=self._decided(),
        )

    def _nothing(self) -> DoubtView:
        """Nothing waits; what the evidence joined can still be looked at."""
        t = self.t
        joins = 0 if self._joins else len(self.session.desk.joins())
        words = (t("doubts.none_joins"), "") if self._joins else (t("doubts.none"), t("doubts.none_words"))
        return DoubtView(
            t("doubts.title"),
            *words,
            (),
            ((JOINS, t("doubts.look_at_joins", count=joins)),) if joins else (),
            decided=self._decided(),
            empty=True,
        )

    def _about(self, doubt: Any) -> str:
        """Whom or which tablet a doubt is about, as lists name them."""
        subject, register = doubt.subjects[0], self.session.desk.ledger.register
        if register.is_child(subject):
            return phrases.name_listed(register.people()[subject])
        return str(self.session.desk.describe(subject))

    def _decided(self) -> str:
        return self.t("doubts.decided", decision=self._last[1]) if self._last else ""

    def _recorded(self, doubt: Any) -> list[str]:
        """For results that disagree: the decisions that some tablet's record speaks for, each once."""
        if doubt.kind.value != "results-disagree":
            return []
        standing = self.session.desk.ledger.register.standing(doubt.subjects[0])
        found = [
            self._came_to(standing, record) if isinstance(record, Screening) else str(record.body["reason"])
            for record in self._records(standing)
        ]
        return [status for status in dict.fromkeys(found) if status in doubt.decisions]

    def _came_to(self, standing: Standing, screening: Screening) -> str:
        """What the child would be if this screening were the only one to speak."""
        if screening.passed:
            return Status.PASSED.value
        if standing.status in FOLLOWING.values():
            return standing.status.value
        protocol = self.session.desk.protocol
        follows = protocol.after_second_fail if screening.stage else protocol.after_first_fail
        return FOLLOWING.get(follows, Status.RESCREEN).value

    def _records(self, standing: Standing) -> list[Screening | Entry]:
        """The screenings and not-tested entries that disagree."""
        screenings = {screening.id: screening for screening in standing.screenings}
        found = [
            screenings.get(entry) or self.session.desk.ledger.register.entry(entry)
            for entry in standing.disagreeing
        ]
        return [record for record in found if record is not None]

    def _decision(self, kind: str, key: str, words: str) -> str:
        if kind == "results-disagree":
            return phrases.sign(Status(key)) + self.t(f"status.{key}")
        if self._joins and self.t.has(f"doubts.joined_{key}"):  # they are joined already
            return self.t(f"doubts.joined_{key}")
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
            return results_marked(
                self._screening(record) if isinstance(record, Screening) else self._not_tested(record)
                for record in self._records(standing)
            )
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
            tablet = self._tablet(entry.device)
            heading = t("doubts.added", tablet=tablet, time=phrases.clock_time(t, entry.at if entry else ""))
        else:
            heading = t("doubts.listed")
        none = {t("add_child.unknown"), t("next_child.no_class"), t("doubts.no_number")}
        lines = tuple(
            (
                t(f"doubts.{name}"),
                ((text, False),) if name == "result" else told_apart(text, other[name], none),
            )
            for name, text in facts.items()
            if not (self._joins and name == "result")  # two records that are joined have one result
        )
        return Side(heading, lines)

    def _screening(self, screening: Screening) -> Side:
        t = self.t
        result = (
            t("doubts.heard_all")
            if screening.passed
            else t("result.missed", tones=phrases.hertz(t, screening.missed))
        )
        facts = {
            "result": result,
            "when": self._moment(screening.finished_at),
            "by": screening.author,
            "reseated": t("doubts.yes") if screening.reseated else t("doubts.no"),
        }
        return self._side(t("doubts.screened", tablet=self._tablet(screening.device)), facts)

    def _not_tested(self, entry: Entry) -> Side:
        t = self.t
        status = Status(entry.body["reason"])
        facts = {"result": phrases.sign(status) + t(f"status.{status.value}")}
        if entry.body.get("note"):
            facts["note"] = str(entry.body["note"])
        facts |= {"when": self._moment(entry.at), "by": entry.author}
        return self._side(t("doubts.noted_on", tablet=self._tablet(entry.device)), facts)

    def _side(self, heading: str, facts: dict[str, str]) -> Side:
        lines = tuple((self.t(f"doubts.{name}"), ((text, False),)) for name, text in facts.items())
        return Side(heading, lines)

    def _moment(self, iso: str) -> str:
        return f"{phrases.short_date(self.t, iso)}, {phrases.clock_time(self.t, iso)}"

    def _tablet(self, device: str) -> str:
        """The name of the tablet that wrote something; the book itself writes too."""
        desk = self.session.desk
        if device == desk.ledger.device:
            return self.t("top.book")
        name = next((each.name for each in desk.devices() if each.device == device), "?")
        return phrases.tablet(self.t, name)


def _place(recorded: list[str], key: str) -> int:
    """What was recorded comes first, in its order; the rest keeps its own."""
    return recorded.index(key) if key in recorded else len(recorded)
