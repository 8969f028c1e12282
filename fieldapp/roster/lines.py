"""From a text to numbered rows of cells. Knows delimiters and quotation marks, nothing about children.

The cells come from the ``csv`` module. What it would do in silence with a quotation mark that is opened and
never closed (swallow the rows below into one cell) is caught here: that row is given out as broken, and the
lines below it are read again on their own.
"""

from __future__ import annotations

import csv
import re
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass

DELIMITERS = (",", ";", "\t", "|")
_MOST_LINES_IN_A_ROW = 12
_LONGEST_LINE = 20_000
_MOST_CELLS = 2_000
# Lines one at a time, each with its end; the text is never copied as a whole.
_PHYSICAL = re.compile(r"[^\r\n]*(?:\r\n?|\n)|[^\r\n]+")


@dataclass(frozen=True, slots=True)
class Line:
    """One row. ``number`` is its first line in the file, from 1; ``broken`` says why its cells are unsafe."""

    number: int
    cells: tuple[str, ...]
    broken: str = ""

    @property
    def blank(self) -> bool:
        """Whether nothing but white space stands in it."""
        return not self.broken and not any(cell.strip() for cell in self.cells)


class _Feed:
    """Physical lines that can be handed back."""

    def __init__(self, text: str) -> None:
        self._lines = (found[0] for found in _PHYSICAL.finditer(text))
        self._returned: deque[str] = deque()
        self.taken: list[str] = []

    def __iter__(self) -> _Feed:
        return self

    def __next__(self) -> str:
        line = self._returned.popleft() if self._returned else next(self._lines)
        self.taken.append(line)
        # A line that is far too long is given out as broken; its quotation marks must not reach further.
        return line if len(line) <= _LONGEST_LINE else line[:_LONGEST_LINE].replace('"', "")

    def hand_back(self, lines: list[str]) -> None:
        self._returned.extendleft(reversed(lines))


def read_lines(text: str, delimiter: str) -> Iterator[Line]:
    """Every row of ``text`` in order, blank ones included."""
    feed = _Feed(text)
    number = 1
    width = 0  # most cells seen in a sound row
    while True:
        feed.taken = []
        reader = csv.reader(feed, delimiter=delimiter, skipinitialspace=True)
        broken = ""
        try:
            cells = next(reader)
        except StopIteration:
            return
        except csv.Error:
            cells, broken = [], "it cannot be split into cells"
        taken = feed.taken
        if len(taken) > 1 and any(len(line) > _LONGEST_LINE for line in taken):
            feed.hand_back(taken[1:])
            taken = taken[:1]
            cells, broken = [], "it is too long for a child's row, or the next one is"
        elif len(taken) > 1 and _swallowed(taken, delimiter, width):
            feed.hand_back(taken[1:])
            taken = taken[:1]
            cells, broken = [], "a quotation mark is opened and not closed"
        elif len(cells) > _MOST_CELLS or len(taken[0]) > _LONGEST_LINE:
            cells, broken = [], "it is too long for a child's row"
        if not broken:
            width = max(width, len(cells))
        yield Line(number, tuple(cells), broken)
        number += len(taken)


def _swallowed(taken: list[str], delimiter: str, width: int) -> bool:
    """Whether a row over several lines is a stray quotation mark rather than a cell with line breaks."""
    if len(taken) > _MOST_LINES_IN_A_ROW or "".join(taken).count('"') % 2:
        return True
    # A whole row below the first one has as many delimiters as a row should.
    return width > 3 and any(line.count(delimiter) >= width - 1 for line in taken[1:])
