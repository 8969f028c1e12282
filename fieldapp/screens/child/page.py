"""What a child's page says, in words: built from the book's entries and the child's standing. No Kivy, no actions."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldapp.languages import language_name
from fieldapp.papers import PAPERS
from fieldapp.screens import phrases
from fieldapp.screens.followup.presenter import step_words, steps_done
from fieldapp.screens.translation import Translator
from fieldapp.services.child_data import FIELDS
from fieldapp.services.exemptions import due_for
from shared.hearing.due import DUE_REASONS
from shared.hearing.examination import CONDUCTIONS, Reading
from shared.records.entries import EARS, Entry, Kind
from shared.records.people import Correction, corrections
from shared.records.standing import ExaminationNoted, Person, Screening, Standing, Status, ThresholdTest


@dataclass(frozen=True, slots=True)
class FieldLine:
    """One field of the child's data; ``before``: what it was before it was corrected, in words."""

    field: str
    label: str
    value: str
    before: str


@dataclass(frozen=True, slots=True)
class TestTable:
    """One screening or threshold test: ``rows`` are (ear, its word, one text for each of ``heads``)."""

    heading: str
    about: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, str, tuple[str, ...]], ...]
    note: str


@dataclass(frozen=True, slots=True)
class ChildView:
    """``sections`` are (heading, lines); ``doubts`` are (id, question); ``has_steps``: follow-up can be noted."""

    title: str
    about: str
    status: str
    stands: tuple[str, ...]
    fields: tuple[FieldLine, ...]
    tests: tuple[TestTable, ...]
    sections: tuple[tuple[str, tuple[str, ...]], ...]
    doubts: tuple[tuple[str, str], ...]
    has_steps: bool


def shown(t: Translator, person: Person, field: str) -> str:
    """A field as it is typed; a language by its name."""
    value = getattr(person, field)
    if field == "language":
        return language_name(value, t.language)
    return "; ".join(value) if isinstance(value, tuple) else str(value)


def child_view(t: Translator, desk: Any, standing: Standing, today: date) -> ChildView:
    """The whole page."""
    page = _Page(t, desk, standing, today)
    person = standing.person
    sections = (
        (t("child_page.observations"), page.notes()),
        (t("child_page.decisions"), page.decisions()),
        (t("child_page.followup"), tuple(steps_done(t, standing)) or (t("child_page.no_followup"),)),
        (t("child_page.letters"), page.letters() or (t("child_page.no_letters"),)),
        (t("child_page.earlier"), page.history()),
    )
    return ChildView(
        title=phrases.name_said(person),
        about=phrases.about_child(t, standing, today),
        status=phrases.sign(standing.status) + t(f"status.{standing.status.value}"),
        stands=page.stands(),
        fields=tuple(page.field(name) for name in FIELDS),
        tests=(
            *map(page.screening, standing.screenings),
            *map(page.threshold_test, standing.thresholds),
            *map(page.examination, standing.examinations),
        ),
        sections=tuple((heading, lines) for heading, lines in sections if lines),
        doubts=page.doubts(),
        has_steps=bool(standing.followups) or standing.status in _FOLLOWED,
    )


_FOLLOWED = (Status.RESCREEN, Status.THRESHOLD, Status.REFERRED, Status.EAR_PROBLEM, Status.COULD_NOT_TEST)


class _Page:
    """Puts one child's records into words."""

    def __init__(self, t: Translator, desk: Any, standing: Standing, today: date) -> None:
        self.t, self.desk, self.standing, self.today = t, desk, standing, today
        self.register = desk.ledger.register
        self.about: list[Entry] = self.register.about(standing.child)
        self.names = {each.device: each.name for each in desk.devices() if each.device}
        self.changes = self._changes()

    def stands(self) -> tuple[str, ...]:
        t, standing, person = self.t, self.standing, self.standing.person
        lines = []
        if standing.status is Status.CLOSED:
            lines.append(step_words(t, standing.why))
        elif standing.why:
            lines.append(t.sentence(standing.why))
        if standing.since:
            lines.append(t("child_page.since", when=self._moment(standing.since)))
        if standing.window is not None:
            first, last = (phrases.short_date(t, day) for day in standing.window)
            key = "child_page.window" if last else "child_page.window_open"
            lines.append(t(key, first=first, last=last))
        if standing.note:
            lines.append(standing.note)
        if person.added:
            lines.append(t("child_page.added"))
        if person.left:
            lines.append(t("child_page.left_school"))
        day = max(*map(date.fromisoformat, self.desk.dates), self.today)
        noted = [each for each in due_for(self.desk.protocol, person, day) if each != "grade"]
        if noted:
            reasons = ", ".join(t.sentence(DUE_REASONS.get(each, each)) for each in noted)
            lines.append(f"{t('child_page.due_reasons')}: {reasons}")
        return tuple(lines)

    def field(self, name: str) -> FieldLine:
        t = self.t
        earlier = [change for change in self.changes if change.field == name]
        before = t("child_page.was", value=self._before(earlier[-1])) if earlier else ""
        value = self._said(name, shown(t, self.standing.person, name)) or t("child_page.nothing")
        return FieldLine(name, t(f"child_page.{name}"), value, before)

    def _before(self, change: Correction) -> str:
        return self._said(change.field, change.before) or self.t("child_page.empty")

    def _said(self, name: str, value: str) -> str:
        """A value as it is read: a birth date and a language in words."""
        if name == "born":
            return phrases.short_date(self.t, value) or value
        return language_name(value, self.t.language) if name == "language" else value

    def _changes(self) -> list[Correction]:
        """Every correction of the child's records, oldest first."""
        listings = (self.register.entry(record) for record in self.standing.records)
        found = [
            change
            for listing in listings
            for change in corrections(listing, (e for e in self.about if e.body.get("child") == listing.id))
        ]
        return sorted(found, key=lambda change: change.at)

    def history(self) -> tuple[str, ...]:
        t = self.t
        return tuple(
            t(
                "child_page.change",
                day=phrases.short_date(t, change.at),
                by=change.author,
                field=t(f"child_page.{change.field}"),
                before=self._before(change),
                after=self._said(change.field, change.after) or t("child_page.empty"),
            )
            for change in reversed(self.changes)
            if t.has(f"child_page.{change.field}")
        )

    def screening(self, screening: Screening) -> TestTable:
        t = self.t
        tones = sorted({answer.hz for answer in screening.answers})
        said = {
            (ear, hz): "\n".join(
                t("child_page.heard" if answer.heard else "child_page.not_heard")
                for answer in screening.answers
                if (answer.ear, answer.hz) == (ear, hz)
            )
            for ear in EARS
            for hz in tones
        }
        levels = sorted({answer.level_db_hl for answer in screening.answers})
        about = t(
            "child_page.by",
            tablet=phrases.tablet(t, self.names.get(screening.device, "?")),
            by=screening.author,
            level=", ".join(map(str, levels)),
        )
        reseated = t("child_page.reseated") if screening.reseated else ""
        note = t("child_page.stopped") if screening.passed is None else reseated
        return self._table(
            t("child_page.screening", when=self._moment(screening.begun_at)), about, tones, said, note
        )

    def threshold_test(self, test: ThresholdTest) -> TestTable:
        t = self.t
        tones = sorted({each.hz for each in test.thresholds})
        said = {
            (each.ear, each.hz): t("child_page.no_answer", limit=each.limit_db_hl)
            if each.threshold_db_hl is None
            else str(each.threshold_db_hl)
            for each in test.thresholds
        }
        tablet = phrases.tablet(t, self.names.get(test.device, "?"))
        about = f"{tablet} · {test.author} · dB HL"
        note = "" if test.finished_at else t("child_page.stopped")
        return self._table(
            t("child_page.threshold", when=self._moment(test.begun_at)), about, tones, said, note
        )

    def examination(self, noted: ExaminationNoted) -> TestTable:
        """An examiner's audiogram: each ear by air, and below it by bone where that was measured."""
        t, found = self.t, noted.examination
        tones = sorted({each.hz for each in found.readings})
        rows = []
        for ear in EARS:
            for conduction in CONDUCTIONS:
                said = {each.hz: self._reading(each) for each in found.of(ear, conduction)}
                word = t(f"ear.{ear}_row") if conduction == "air" else t("findings.bone")
                rows += [(ear, word, tuple(said.get(hz, "") for hz in tones))] if said else []
        about = " · ".join(filter(None, (found.examiner, "dB HL")))
        day = phrases.short_date(t, found.examined.isoformat())
        return TestTable(
            t("findings.of_day", day=day), about, tuple(map(str, tones)), tuple(rows), found.note
        )

    def _reading(self, each: Reading) -> str:
        limit = self.t("child_page.no_answer", limit=each.level_db_hl)
        level = limit if each.no_response else str(each.level_db_hl)
        return f"{level} {self.t('findings.sign_masked')}" if each.masked else level

    def _table(
        self, heading: str, about: str, tones: list[int], said: dict[tuple[str, int], str], note: str
    ) -> TestTable:
        rows = tuple(
            (ear, self.t(f"ear.{ear}_row"), tuple(said.get((ear, hz), "") for hz in tones)) for ear in EARS
        )
        return TestTable(heading, about, tuple(map(str, tones)), rows if tones else (), note)

    def notes(self) -> tuple[str, ...]:
        """What was noted beside the tests: reasons for not testing, observations."""
        t, stands = self.t, self.register.stands
        lines = []
        for entry in self.about:
            if not stands(entry.id):
                continue
            when = self._moment(entry.at)
            note = str(entry.body.get("note", ""))
            if entry.kind is Kind.NOT_TESTED and t.has(f"status.{entry.body['reason']}"):
                line = t("child_page.not_tested", when=when, reason=t(f"status.{entry.body['reason']}"))
                lines.append(f"{line} ({note})" if note else line)
            elif entry.kind is Kind.OBSERVATION and note:
                lines.append(t("child_page.not_tested", when=when, reason=note))
        return tuple(lines)

    def decisions(self) -> tuple[str, ...]:
        t, lines = self.t, []
        for entry in self.about:
            if entry.kind is Kind.RESULT_RULED and self.register.stands(entry.id):
                status = t(f"status.{entry.body['status']}")
                lines.append(
                    t("child_page.ruled", when=self._moment(entry.at), by=entry.author, status=status)
                )
        people = self.register.people()
        for decision in self.register.decisions:
            others = [record for record in decision.pair if record not in self.standing.records]
            mine = [record for record in decision.pair if record in self.standing.records]
            if not mine or (decision.automatic and not decision.same):
                continue
            other = (others or mine)[-1]
            word = "apart" if not decision.same else "joined_evidence" if decision.automatic else "joined"
            name = phrases.name_listed(people[other]) if other in people else "?"
            at = self._moment(self.register.entry(decision.entry).at)
            lines.append(t(f"child_page.{word}", when=at, name=name))
        return tuple(lines)

    def letters(self) -> tuple[str, ...]:
        t, lines = self.t, []
        for entry in self.about:
            if entry.kind is not Kind.PAPER_ISSUED:
                continue
            name = str(entry.body.get("paper", ""))
            title = t(f"papers.{name}") if name in PAPERS and t.has(f"papers.{name}") else name
            numbers = entry.body.get("numbers") or {}
            own = next((numbers[each] for each in self.standing.records if each in numbers), "")
            number = str(own or entry.body.get("number", ""))
            lines.append(
                t("child_page.letter", when=phrases.short_date(t, entry.at), paper=title, number=number)
            )
        return tuple(lines)

    def doubts(self) -> tuple[tuple[str, str], ...]:
        t, mine = self.t, set(self.standing.records)
        joins = tuple(
            (join.id, t("child_page.joined_question"))
            for join in self.desk.joins()
            if mine & set(join.subjects)
        )
        return joins + tuple(
            (
                doubt.id,
                t(f"doubts.question_{doubt.kind.value}")
                if t.has(f"doubts.question_{doubt.kind.value}")
                else t.sentence(doubt.question),
            )
            for doubt in self.desk.doubts()
            if mine & set(doubt.subjects)
        )

    def _moment(self, iso: str) -> str:
        return f"{phrases.short_date(self.t, iso)}, {phrases.clock_time(self.t, iso)}"
