"""The office's part of the visit book: newer rosters, corrections, examiners' audiograms, the letterhead.

Works on the same ledger as the ``Desk`` that it belongs to.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from fieldapp.roster import RosterChange, RosterRow, RowProblem, compare_rosters
from fieldapp.services.child_data import FieldsRefused, read_fields
from fieldapp.services.exemptions import exempt, exemption_drafts
from fieldapp.services.ledger import Draft, Ledger
from fieldapp.services.roll import children_of
from shared.errors import Refused
from shared.hearing.examination import Examination
from shared.hearing.fields import FieldRefused
from shared.records.entries import Kind
from shared.records.people import person_body, person_from
from shared.records.standing import Person, Standing

#: The mark of a correction that a person made, not a roster.
BY_HAND = "by_hand"


@dataclass(frozen=True, slots=True)
class RosterUpdate:
    """What a newer roster changed, in numbers, and the rows that it could not use."""

    added: int
    corrected: int
    left: int
    returned: int
    unchanged: int
    problems: tuple[RowProblem, ...]
    exempt: int = 0  # by the roster, on the day
    due_again: int = 0  # whose exemption is over

    @classmethod
    def of(cls, change: RosterChange) -> RosterUpdate:
        """The numbers of a change."""
        returned = set(change.returned)
        return cls(
            added=len(change.added),
            corrected=len(change.corrected.keys() - returned),
            left=len(change.left),
            returned=len(returned),
            unchanged=len(change.unchanged),
            problems=tuple(change.problems),
        )

    @property
    def mostly_leavers(self) -> bool:
        """Whether more children of the book would leave than stay: most likely it is another list."""
        return self.left > self.corrected + self.unchanged


class Office:
    """What the office writes into one visit book, follow-up aside."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    def foresee(self, rows: Sequence[RosterRow]) -> RosterUpdate:
        """What taking a newer roster in would change; nothing is written."""
        return RosterUpdate.of(self._compared(rows))

    def _compared(self, rows: Sequence[RosterRow]) -> RosterChange:
        numbers = {row.person.student_number.casefold() for row in rows}
        known = {s.child: self._as_listed(s, numbers) for s in self._ledger.register.standings()}
        return compare_rosters(known, rows)

    def update_roster(self, rows: Sequence[RosterRow]) -> RosterUpdate:
        """Take a newer roster in: updates, adds and marks leavers; never a second record for a known child."""
        change = self._compared(rows)
        drafts: list[Draft] = [(Kind.CHILD_LISTED, person_body(row.person)) for row in change.added]
        drafts += [
            (Kind.CHILD_CORRECTED, {"child": child, "fields": fields})
            for child, fields in change.corrected.items()
        ]
        drafts += [
            (Kind.CHILD_LEFT, {"child": record})
            for child in change.left
            for record in self._ledger.register.records_of(child)
        ]
        if drafts:
            self._ledger.write(*drafts)
        day = self._exemption_day()
        exemptions = exemption_drafts(self._ledger.register, day)
        if exemptions:
            self._ledger.write(*exemptions)
        exempt_now, due_again = exempt(
            children_of(self._ledger.register), self._ledger.register.protocol, day
        )
        return replace(RosterUpdate.of(change), exempt=exempt_now, due_again=due_again)

    def _as_listed(self, standing: Standing, numbers: Collection[str]) -> Person:
        """What the rosters have said of a child so far: a newer one corrects only what it says anew, so that what was
        corrected by hand is not undone by a list that still has the old value."""
        register = self._ledger.register
        changes = (
            each
            for each in register.about(standing.child)
            if each.child == standing.child and not each.body.get(BY_HAND)
        )
        listed = person_from(register.entry(standing.child), changes)
        number = standing.person.student_number
        if number.casefold() in numbers:  # the list knows the corrected number by now
            listed = replace(listed, student_number=number)
        return replace(listed, left=standing.person.left)

    def _exemption_day(self) -> date:
        """The day for which exemptions are judged: the last of the visit, or today if that is later."""
        days = map(date.fromisoformat, map(str, self._ledger.register.visit["dates"]))
        return max(*days, self._ledger.clock.now().date())

    def correct(self, child: str, typed: Mapping[str, str | Sequence[str]]) -> list[str]:
        """Correct what is known of a child, in fields of ``child_data.FIELDS``; gives those that changed.

        Earlier values stay in the entries. Raises ``FieldsRefused`` where a value cannot be right, and then
        nothing is changed; no typed number may make two children one.
        """
        standing = self._ledger.register.standing(child)
        values = read_fields(typed, self._ledger.clock.now().date())
        if self._number_of_another(standing, values.get("student_number", "")):
            taken = Refused("Another child has this student number.", todo="Look at that child first.")
            raise FieldsRefused({"student_number": taken})
        changed = {n: value for n, value in values.items() if value != getattr(standing.person, n)}
        drafts = [
            draft for record in standing.records for draft in self._correcting(record, standing, changed)
        ]
        if drafts:
            self._ledger.write(*drafts)
        return list(changed)

    def _number_of_another(self, standing: Standing, number: str) -> bool:
        return bool(number) and any(
            other.child != standing.child and other.person.student_number.casefold() == number.casefold()
            for other in self._ledger.register.standings()
        )

    def _correcting(self, record: str, standing: Standing, changed: Mapping[str, Any]) -> list[Draft]:
        """The entries that correct one record. A joined record keeps its own words, save where it would speak up
        for an emptied field, or pull the child back to its old number."""
        person = self._ledger.register.people()[record]
        own = {
            name: value
            for name, value in changed.items()
            if record == standing.child or (getattr(person, name) and (not value or name == "student_number"))
        }
        if not own:
            return []
        fields = person_body(replace(Person("", ""), **own)) | {
            "class" if name == "class_name" else name: [] if name == "address" else ""
            for name, value in own.items()
            if not value
        }
        drafts: list[Draft] = [(Kind.CHILD_CORRECTED, {"child": record, "fields": fields, BY_HAND: True})]
        if person.left:  # a correction alone would bring a leaver back
            drafts.append((Kind.CHILD_LEFT, {"child": record}))
        return drafts

    def find(self, number: str) -> str:
        """The child of a student number, or of a record id; raises ``Refused`` where there is none."""
        for standing in children_of(self._ledger.register):
            if number and number in (standing.person.student_number, *standing.records):
                return standing.child
        raise Refused("There is no child of that number.", todo="Give a student number of the roster.")

    def note_examination(
        self, child: str, examination: Examination, *, day: date | None = None, replaces: str = ""
    ) -> str:
        """Write an examiner's audiogram down, which came back on ``day`` (today); gives the entry's id.

        ``replaces`` is the entry that this corrects. Raises ``Refused`` where that does not stand any more, and
        ``FieldRefused`` for a day that lies ahead.
        """
        today = self._ledger.clock.now().date()
        for field, when in (("examined", examination.examined), ("day", day or today)):
            if when > today:
                raise FieldRefused(
                    field, "lies ahead of today", what="The audiogram", todo="Look at the year, too."
                )
        body = {**examination.to_dict(), "child": child, "day": (day or today).isoformat()}
        if replaces:
            body["replaces"] = self._examination(child, replaces)
        (written,) = self._ledger.write((Kind.EXAMINATION_NOTED, body))
        return written.id

    def withdraw_examination(self, child: str, noted: str) -> None:
        """Take an examiner's audiogram out of a child's record; raises ``Refused`` where it does not stand.

        It stays in the book as it was written, and is shown no more, nor is what it corrected.
        """
        noted = self._examination(child, noted)
        self._ledger.write((Kind.DECISION_WITHDRAWN, {"decision": noted, "child": child}))

    def _examination(self, child: str, noted: str) -> str:
        """That id, if such an examination of the child stands."""
        if noted in {each.id for each in self._ledger.register.standing(child).examinations}:
            return noted
        raise Refused(
            "There is no such audiogram in this child's record.",
            kept="Nothing was changed.",
            todo="Look at the child's audiograms again: it was corrected or taken out.",
        )

    def set_letterhead(self, **lines: object) -> None:
        """Who sends the letters: ``name``, ``address`` (lines), ``phone``, ``signer``, ``role``."""
        self._ledger.tell(letterhead={**self._ledger.about.get("letterhead", {}), **lines})
