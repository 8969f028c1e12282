"""Correcting what is known of a child: typed values read as a roster's cells are, or refused field by field.

Only the reading of typed values may live here; writing them is the ``Office``'s.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import Any

from fieldapp.roster.dates import implausible, readings
from fieldapp.roster.grades import read_grade
from fieldapp.roster.languages import read_language
from fieldapp.roster.people import name_of, number_of, tidy, tidy_or_nothing, unfit_name, unfit_number
from shared.errors import Refused

#: What can be corrected, in the order in which it is shown; named as in ``Person``.
FIELDS = (
    *("family", "given", "born", "student_number", "grade", "class_name"),
    *("language", "guardian", "address"),
)
LONGEST_CLASS, LONGEST_LINE, MOST_LINES = 40, 100, 6


class FieldsRefused(Refused):
    """Some typed values cannot be right. ``fields``: field -> why; nothing was changed."""

    def __init__(self, fields: Mapping[str, Refused]) -> None:
        first = next(iter(fields.values()))
        super().__init__(first.happened, kept="Nothing was changed.", todo=first.todo)
        self.fields = dict(fields)


def read_fields(typed: Mapping[str, str | Sequence[str]], today: date) -> dict[str, Any]:
    """Typed values as ``Person`` values; empty ones are emptied. Raises ``FieldsRefused`` naming every bad field."""
    values: dict[str, Any] = {}
    wrong: dict[str, Refused] = {}
    for field, text in typed.items():
        try:
            if field == "address":
                values[field] = _address(text)
            else:
                values[field] = _READ[field](str(text), today)
        except Refused as refused:
            wrong[field] = refused
    if wrong:
        raise FieldsRefused(wrong)
    return values


def _name(text: str, _today: date) -> str:
    name = name_of(text)
    if not name:
        raise Refused("The name is missing.", todo="Type the name.")
    if unfit_name(name):
        raise Refused("This can be no name.", todo="Type it in letters.")
    return name


def _born(text: str, today: date) -> str:
    if not tidy_or_nothing(text):
        return ""
    found = readings(text, today)
    if found.undecided:
        raise Refused("This date can be read in two ways.", todo="Write it as 2018-03-14.")
    born = found.by(None)
    if born is None:
        raise Refused("The birth date is not a date.", todo="Write it as 2018-03-14.")
    if implausible(born, today):
        raise Refused("This can be no birth date of a child at school.", todo="Check the year.")
    return born.isoformat()


def _number(text: str, _today: date) -> str:
    number = number_of(text)
    if number and unfit_number(number):
        raise Refused("This can be no student number.", todo="Copy it from the school's list.")
    return number


def _grade(text: str, _today: date) -> str:
    if not tidy_or_nothing(text):
        return ""
    grade = read_grade(text)
    if grade is None:
        raise Refused("This is no grade.", todo="Write PK, TK, K, 1 to 12, or UG for ungraded.")
    return grade


def _class(text: str, _today: date) -> str:
    name = tidy_or_nothing(text)
    if len(name) > LONGEST_CLASS or not name.isprintable():
        raise Refused("This can be no class.", todo="Write it as the school does, such as 3B.")
    return name


def _language(text: str, _today: date) -> str:
    if not tidy_or_nothing(text):
        return ""
    tag = read_language(text)
    if tag is None:
        raise Refused(
            "This language is not known here.",
            todo="Write its name in English or Spanish, or its code, such as en or es.",
        )
    return tag


def _guardian(text: str, _today: date) -> str:
    name = tidy_or_nothing(text)
    if name and (len(name) > LONGEST_LINE or unfit_name(name)):
        raise Refused("This can be no name.", todo="Type it in letters.")
    return name


def _address(typed: str | Sequence[str]) -> tuple[str, ...]:
    parts = typed.split(";") if isinstance(typed, str) else typed
    lines = tuple(line for part in parts if (line := tidy(part)))
    if len(lines) > MOST_LINES or any(len(line) > LONGEST_LINE or not line.isprintable() for line in lines):
        raise Refused("This can be no address.", todo="Write up to six short lines.")
    return lines


_READ: Mapping[str, Callable[[str, date], str]] = {
    "family": _name,
    "given": _name,
    "born": _born,
    "student_number": _number,
    "grade": _grade,
    "class_name": _class,
    "language": _language,
    "guardian": _guardian,
}
