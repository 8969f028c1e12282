"""Birth dates as schools write them, and the order of day and month in a whole column. ``today`` is given.

ISO 8601 dates and dates with the month in letters have one reading. Numbers such as 5/2/2017 have two, and
the column decides: one date that fits only one order speaks for the others.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from fieldapp.roster.reading import DateOrder

# Screening serves preschool to the end of secondary special education (common practice, no source).
YOUNGEST, OLDEST = 2, 22  # years
# So many dates for one order against one for the other settle the column; the odd ones become problems.
_OUTVOTED = 10

_TIME = re.compile(
    r"[T\s]+\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?\s*([ap]\.?\s?m\.?)?\s*(z|[+-]\d{2}:?\d{2})?$", re.I
)
_YEAR_FIRST = re.compile(r"(\d{4})\s*[-/.]\s*(\d{1,2})\s*[-/.]\s*(\d{1,2})")
_COMPACT = re.compile(r"(\d{2})(\d{2})(\d{4})")
_YEAR_LAST = re.compile(r"(\d{1,2})\s*([-/. ])\s*(\d{1,2})\s*\2\s*(\d{4}|'?\d{2})")
_DAY_LETTERS = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?[\s\-/.,]*(?:de )?([a-z]{3,10})[\s\-/.,]*(?:del? )?(\d{4}|\d{2})"
)
_LETTERS_DAY = re.compile(
    r"([a-z]{3,10})[\s\-/.,]*(\d{1,2})(?:st|nd|rd|th)?[\s\-/.,]+(?:del? )?(\d{4}|\d{2})"
)
_WEEKDAY = re.compile(
    r"(mon|tue|tues|wed|wednes|thu|thur|thurs|fri|sat|satur|sun)(day)?[,.]?\s+"
    r"|(lunes|martes|miercoles|jueves|viernes|sabado|domingo),?\s+"
)

_MONTHS = {
    name[:length]: number
    for names in (
        "january february march april may june july august september october november december",
        "enero febrero marzo abril mayo junio julio agosto septiembre octubre noviembre diciembre",
    )
    for number, name in enumerate(names.split(), start=1)
    for length in range(3, len(name) + 1)
} | {"setiembre": 9, "set": 9}


@dataclass(frozen=True, slots=True)
class Readings:
    """What a cell may mean: its date read month first and day first, None where that is no date."""

    mdy: date | None
    dmy: date | None

    @property
    def undecided(self) -> bool:
        """Whether the order matters and the cell itself does not tell."""
        return self.mdy is not None and self.dmy is not None and self.mdy != self.dmy

    def by(self, order: DateOrder | None) -> date | None:
        """The date under an order; without one, the only reading there is."""
        if order is None:
            return None if self.undecided else self.mdy or self.dmy
        return self.mdy if order == "mdy" else self.dmy


def readings(text: str, today: date) -> Readings:
    """Both readings of a cell. Two-digit years are the latest that do not lie after this year."""
    text = unicodedata.normalize("NFKD", text).strip().lower()
    text = "".join(character for character in text if not unicodedata.combining(character))
    text = _TIME.sub("", " ".join(text.split()))
    text = _WEEKDAY.sub("", text)
    if found := _YEAR_FIRST.fullmatch(text):
        return _one(*found.groups())
    if re.fullmatch(r"(19|20)\d{6}", text) and (compact := _date(text[:4], text[4:6], text[6:])):
        return Readings(compact, compact)
    if found := _YEAR_LAST.fullmatch(text):
        first, _, second, year = found.groups()
        return _two(first, second, _whole_year(year, today))
    if found := _COMPACT.fullmatch(text):
        return _two(*found.groups())
    if found := _DAY_LETTERS.fullmatch(text):
        day, month, year = found.groups()
        return _one(_whole_year(year, today), _MONTHS.get(month, 0), day)
    if found := _LETTERS_DAY.fullmatch(text):
        month, day, year = found.groups()
        return _one(_whole_year(year, today), _MONTHS.get(month, 0), day)
    return Readings(None, None)


def is_date(text: str, today: date) -> bool:
    """Whether the cell is a date in any reading."""
    found = readings(text, today)
    return found.mdy is not None or found.dmy is not None


def age(born: date, today: date) -> int:
    """Whole years between the two days; negative before birth."""
    return today.year - born.year - ((today.month, today.day) < (born.month, born.day))


def implausible(born: date, today: date) -> str:
    """Why this can be no birth date of a child at school, or an empty string."""
    if born > today:
        return "lies in the future"
    years = age(born, today)
    if years < YOUNGEST:
        return f"would make the child younger than {YOUNGEST}"
    if years > OLDEST:
        return f"would make the child older than {OLDEST}"
    return ""


@dataclass(frozen=True, slots=True)
class ColumnOrder:
    """How a whole column of dates is written, and on what evidence. ``order`` None: no cell needs one."""

    order: DateOrder | None
    doubt: str = ""  # why a person must be asked


def column_order(cells: Iterable[str], today: date) -> ColumnOrder:
    """Decide day and month for a column by the cells that fit one order only."""
    month_first = day_first = undecided = 0
    for cell in cells:
        found = readings(cell, today)
        undecided += found.undecided
        month_first += found.mdy is not None and found.dmy is None
        day_first += found.dmy is not None and found.mdy is None
    if not undecided:
        return ColumnOrder(None)
    if month_first > _OUTVOTED * day_first:
        return ColumnOrder("mdy")
    if day_first > _OUTVOTED * month_first:
        return ColumnOrder("dmy")
    if not month_first and not day_first:
        return ColumnOrder(None, "every date in it fits both")
    return ColumnOrder(None, f"{month_first} dates fit only the first and {day_first} only the second")


def order_in_title(title: str) -> DateOrder | None:
    """The order that a title asks for, as in ``DOB (mm/dd/yyyy)`` or ``Fecha (dd/mm/aaaa)``."""
    if re.search(r"\bmm?\W?dd?\W?(yy|aa)", title, re.I):
        return "mdy"
    return "dmy" if re.search(r"\bdd?\W?mm?\W?(yy|aa)", title, re.I) else None


def _date(year: str | int, month: str | int, day: str | int) -> date | None:
    try:
        return date(int(year), int(month), int(day))
    except ValueError:
        return None


def _one(year: str | int, month: str | int, day: str | int) -> Readings:
    found = _date(year, month, day)
    return Readings(found, found)


def _two(first: str, second: str, year: str | int) -> Readings:
    return Readings(_date(year, first, second), _date(year, second, first))


def _whole_year(year: str, today: date) -> int:
    year = year.lstrip("'")
    if len(year) == 4:
        return int(year)
    century = today.year - today.year % 100
    return century + int(year) - (100 if int(year) > today.year % 100 else 0)
