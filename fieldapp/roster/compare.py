"""A newer roster against the children already known: who is new, who is corrected, who left, who came back.

Values in, values out: writing the entries is the caller's work. Nothing here makes a second record of a child.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from fieldapp.roster.reading import RosterRow, RowProblem
from shared.records.people import person_body
from shared.records.standing import Person

_Likeness = tuple[str, str, str]  # given, family, born


@dataclass(frozen=True, slots=True)
class RosterChange:
    """What a newer roster changes.

    ``corrected`` maps a record to the fields of its correction, named as in an entry's body ("class", not
    "class_name"); a cell that the newer roster leaves empty corrects nothing. A leaver who is listed again is
    in ``returned`` and in ``corrected`` too, perhaps with no field: the correction itself brings it back.
    ``problems`` are rows whose student number belongs to quite another child; they change nothing.
    """

    added: list[RosterRow]
    corrected: dict[str, dict[str, Any]]
    left: list[str]
    unchanged: list[str]
    returned: list[str]
    problems: list[RowProblem]


def compare_rosters(current: Mapping[str, Person], rows: Sequence[RosterRow]) -> RosterChange:
    """Match the rows of a newer roster with the known records (record id -> person, leavers included).

    A row with a student number matches the record with that number; else, like a row without one, it matches
    a record of exactly the same given name, family name and birth date, as long as their numbers do not
    contradict each other. Records that were added on the day and are on no roster are never marked as left.
    """
    known = _Known(current)
    change = RosterChange([], {}, [], [], [], [])
    matched: set[str] = set()
    listed: set[str] = set()
    # Rows whose number is known choose first, so that no row without one takes their record.
    for row in sorted(rows, key=lambda row: not known.has_number(row.person)):
        number = row.person.student_number.casefold()
        if number and number in listed:
            change.problems.append(RowProblem(row.line, _TWICE, row.sheet))
            continue
        listed.add(number)
        record = known.find(row.person, matched)
        if record is None:
            change.added.append(row)
            continue
        before = current[record]
        matched.update(known.with_same_number(record))
        if _is_another_child(before, row.person):
            change.problems.append(RowProblem(row.line, _REUSED, row.sheet))
            continue
        fields = _corrections(before, row.person)
        if before.left:
            change.returned.append(record)
        if fields or before.left:
            change.corrected[record] = fields
    for record, person in current.items():
        if record in change.corrected:
            continue
        if record in matched or person.left or person.added:
            change.unchanged.append(record)
        else:
            change.left.append(record)
    return change


_TWICE = "The student number stands twice in the list; the first row was taken."
_REUSED = (
    "The student number belongs to another child in this visit, with other names and another birth date; "
    "the row was not imported and the child in the visit was left as it is."
)


class _Known:
    """The known records by student number and by likeness; those still at school come first."""

    def __init__(self, current: Mapping[str, Person]) -> None:
        self._numbers: dict[str, list[str]] = {}
        self._likenesses: dict[_Likeness, list[str]] = {}
        self._current = current
        for record in sorted(current, key=lambda record: (current[record].left, current[record].added)):
            person = current[record]
            if person.student_number:
                self._numbers.setdefault(person.student_number.casefold(), []).append(record)
            self._likenesses.setdefault(_likeness(person), []).append(record)

    def has_number(self, person: Person) -> bool:
        """Whether a record with the person's student number is known."""
        return person.student_number.casefold() in self._numbers

    def find(self, person: Person, taken: set[str]) -> str | None:
        """The record of this child, or None; one that is ``taken`` answers to no second row by its name."""
        number = person.student_number.casefold()
        if self.has_number(person):
            return self._numbers[number][0]
        for record in self._likenesses.get(_likeness(person), ()):
            # A child with a number of its own is not the one that another number stands for.
            contradicted = number and self._current[record].student_number
            if record not in taken and not contradicted:
                return record
        return None

    def with_same_number(self, record: str) -> list[str]:
        """All records of the child: several devices may have written one number."""
        return self._numbers.get(self._current[record].student_number.casefold(), [record])


def _likeness(person: Person) -> _Likeness:
    return person.given, person.family, person.born


def _is_another_child(before: Person, now: Person) -> bool:
    """Whether nothing but the number agrees: no name, and no birth date."""
    given, family = (
        before.given.casefold() == now.given.casefold(),
        before.family.casefold() == now.family.casefold(),
    )
    return not given and not family and bool(before.born and now.born) and before.born != now.born


def _corrections(before: Person, now: Person) -> dict[str, Any]:
    known = person_body(before)
    return {name: value for name, value in person_body(now).items() if known.get(name) != value}
