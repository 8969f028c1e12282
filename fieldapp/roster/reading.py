"""What comes out of a roster: rows, problems, notes, and the two ways a whole file is refused. Values only.

No text here or anywhere else in this folder quotes a child's name or birth date: a problem names the line,
the column and the kind of fault.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from shared.errors import Refused
from shared.records.standing import Person

DateOrder = Literal["mdy", "dmy"]

READINGS: Mapping[DateOrder, str] = {"mdy": "month first", "dmy": "day first"}


@dataclass(frozen=True, slots=True)
class RosterRow:
    """One child as listed. ``line`` is the first line of its row in the file, from 1."""

    line: int
    person: Person
    sheet: str = ""  # of a workbook with several class lists


@dataclass(frozen=True, slots=True)
class RowProblem:
    """One row that was not imported, and why, in plain words without personal data."""

    line: int
    reason: str
    sheet: str = ""

    def __str__(self) -> str:
        where = f"Sheet {self.sheet}, line {self.line}" if self.sheet else f"Line {self.line}"
        return f"{where}: {self.reason}"


@dataclass(frozen=True, slots=True)
class RosterReading:
    """A roster read to its end; nothing is skipped in silence.

    ``len(rows) + len(problems) + blank_lines + other_people == data_lines``, where ``data_lines`` counts the
    rows below the header (a row with a line break inside quotes is one) and ``other_people`` counts rows of
    a OneRoster set that list no child of this roster, such as teachers.
    ``columns`` maps each field that was found to the column's title in the file.
    """

    rows: list[RosterRow]
    problems: list[RowProblem]
    notes: list[str] = field(default_factory=list)
    columns: dict[str, str] = field(default_factory=dict)
    blank_lines: int = 0
    other_people: int = 0
    data_lines: int = 0


class NotARoster(Refused):
    """The file is no table of children, or so garbled that importing it would do harm."""

    def __init__(self, happened: str, *, todo: str = "") -> None:
        super().__init__(
            happened,
            kept="Nothing was imported.",
            todo=todo or "Ask the school for the class list as a CSV or .xlsx file with a header row.",
        )


class AmbiguousDates(Refused):
    """Every birth date could be read in two ways; the caller asks a person and passes ``date_order``.

    ``column`` is the column's title, ``readings`` the two orders to choose from.
    """

    def __init__(self, column: str, why: str) -> None:
        self.column = column
        self.readings: tuple[DateOrder, DateOrder] = ("mdy", "dmy")
        super().__init__(
            f"The dates in column '{column}' can be read month first (mdy) or day first (dmy): {why}.",
            kept="Nothing was imported.",
            todo="Ask the school which it is, and import again with that order.",
        )


def listed(numbers: list[int], most: int = 12) -> str:
    """Line numbers in words: ``line 4`` or ``lines 4, 9 and 17``; a long list ends in ``and N more``."""
    head = [str(number) for number in numbers[:most]]
    if len(numbers) > most:
        return f"lines {', '.join(head)} and {len(numbers) - most} more"
    if len(head) == 1:
        return f"line {head[0]}"
    return f"lines {', '.join(head[:-1])} and {head[-1]}"
