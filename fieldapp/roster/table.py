"""A header and the rows below it, held no larger than a roster may be. Knows no children yet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from fieldapp.roster.columns import Columns
from fieldapp.roster.lines import Line
from fieldapp.roster.people import tidy_or_nothing
from fieldapp.roster.reading import NotARoster, RowProblem

MOST_ROWS = 100_000  # five times the largest roster that the app is measured with
_MOST_LINES = 1_048_576  # blank ones included: as many as a spreadsheet has
_ALWAYS_KEPT = 3  # cells at the left, where a list's last line says what it is


@dataclass(slots=True)
class Table:
    """``lines`` are the rows to read, in order. ``problems`` and ``other_people`` were settled before."""

    columns: Columns
    lines: list[Line] = field(default_factory=list)
    blank_lines: int = 0
    sheet: str = ""  # of a workbook with several class lists
    problems: list[RowProblem] = field(default_factory=list)
    other_people: int = 0
    notes: list[str] = field(default_factory=list)

    @classmethod
    def below(cls, columns: Columns, lines: Iterable[Line], sheet: str = "") -> Table:
        """Take in the rows below a header; raises ``NotARoster`` for more than a roster can have."""
        table = cls(columns, sheet=sheet)
        used = set(columns.places.values())
        for line in lines:
            if line.blank and table.blank_lines < _MOST_LINES:
                table.blank_lines += 1
                continue
            if line.blank or len(table.lines) >= MOST_ROWS:
                raise NotARoster(
                    f"This file has more than {MOST_ROWS:,} rows.",
                    todo="Ask for the list of one school, or split the file.",
                )
            table.lines.append(_slim(line, used))
        return table

    def cells(self, name: str) -> list[str]:
        """The filled cells of one field's column, in order."""
        place = self.columns.places.get(name)
        if place is None:
            return []
        cells = (tidy_or_nothing(line.cells[place]) for line in self.lines if place < len(line.cells))
        return [cell for cell in cells if cell]

    @property
    def data_lines(self) -> int:
        """All rows below the header."""
        return len(self.lines) + self.blank_lines + len(self.problems) + self.other_people


def _slim(line: Line, used: set[int]) -> Line:
    """The row without the text of columns that nobody reads; that a cell is filled stays to be seen."""
    cells = tuple(
        cell if place in used or place < _ALWAYS_KEPT else "x" * bool(cell.strip())
        for place, cell in enumerate(line.cells)
    )
    return Line(line.number, cells, line.broken)
