"""A table that runs over pages: rows under class headings, the column titles again on every page, nothing clipped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fieldapp.papers import typeface
from fieldapp.papers.sheet import HAND, INK, LINE, SHADE, SOFT, Sheet

SIZE, LEADING, PAD = 9.0, 11.5, 3.6
HEAD, TITLE_LINE = 8.0, 12.0
TALLEST = 30  # lines of a row that stay together
BOX = "\x00box"  # a cell that holds an empty box to tick


@dataclass(frozen=True, slots=True)
class Column:
    """One column; ``share`` is its part of the width."""

    title: str
    share: float
    align: str = "left"
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Group:
    """Rows under one heading, which is also a bookmark. An empty title: no heading."""

    title: str
    rows: Sequence[Sequence[str]]
    aside: str = ""  # at the right end of the heading


class Table:
    """Draws groups of rows on a sheet whose first page has begun; carries on over as many pages as needed.

    ``by_hand``: something is written into each row by hand, which wants to be so high.
    """

    def __init__(
        self, sheet: Sheet, columns: Sequence[Column], *, continued: str = "{title}", by_hand: bool = False
    ) -> None:
        self._sheet = sheet
        self._columns = columns
        self._continued = continued
        self._least = HAND if by_hand else 0.0
        room = sheet.right - sheet.left
        shares = sum(column.share for column in columns)
        self._widths = [room * column.share / shares for column in columns]
        self._head = min(map(self._fitting, columns, self._widths), default=HEAD)
        self._titled = False  # whether this page has the column titles
        self._announced = False  # whether any page has

    def draw(self, groups: Sequence[Group]) -> None:
        """All groups, one below the other."""
        with self._sheet.element("Table"):
            for group in groups:
                self._group(group)

    def _group(self, group: Group) -> None:
        sheet = self._sheet
        rows = [part for row in group.rows for part in _parted(self._wrapped(row))]
        heights = [max(self._least, max(map(len, cells)) * LEADING + 2 * PAD - 1) for cells in rows]
        titled = 22 + TITLE_LINE * (len(self._title_lines(group, group.title)) - 1) if group.title else 0
        first = titled + min(sum(heights[:2]), 160) + 26 * (not self._titled)
        if sheet.y - first < sheet.bottom:
            self._next_page()
        if not self._titled:
            self._column_titles()
        if group.title:
            with sheet.element("TR"), sheet.element("TH", columns=len(self._columns)):
                self._title(group, group.title)
            sheet.bookmark(group.title)
        for row, high in zip(rows, heights, strict=True):
            if sheet.y - high < sheet.bottom:
                self._next_page()
                self._column_titles()
                if group.title:
                    with sheet.artifact():
                        self._title(group, self._continued.format(title=group.title))
            sheet.open("TR")
            self._row(row, high)
            sheet.close()
        sheet.y -= 6

    @staticmethod
    def _fitting(column: Column, wide: float) -> float:
        """The size at which no word of a column title is cut."""
        longest = max((typeface.width(word, HEAD, True) for word in column.title.split()), default=0.0)
        return min(HEAD, HEAD * (wide - 2 * PAD + 1) / longest) if longest else HEAD

    def _next_page(self) -> None:
        self._sheet.new_page()
        self._titled = False

    def _title_lines(self, group: Group, title: str) -> list[str]:
        """A group's title in as many lines as it needs beside what stands at its right end."""
        room = self._sheet.right - self._sheet.left - 4 * PAD - typeface.width(group.aside, HEAD)
        return typeface.wrap(title, room, 10, True)

    def _title(self, group: Group, title: str) -> None:
        sheet, lines = self._sheet, self._title_lines(group, title)
        further = TITLE_LINE * (len(lines) - 1)
        sheet.y -= 20 + further
        sheet.box(sheet.left, sheet.y, sheet.right - sheet.left, 17 + further, fill=SHADE)
        for number, line in enumerate(lines):
            sheet.text(sheet.left + PAD, sheet.y + 4.8 + further - TITLE_LINE * number, line, 10, bold=True)
        sheet.text(sheet.right - PAD, sheet.y + 5.2 + further, group.aside, HEAD, align="right", grey=SOFT)

    def _column_titles(self) -> None:
        """The column titles, once as part of the table, again at the top of every further page."""
        with self._sheet.artifact() if self._announced else self._sheet.element("TR"):
            self._draw_column_titles()
        self._titled = self._announced = True

    def _draw_column_titles(self) -> None:
        sheet, x = self._sheet, self._sheet.left
        wrapped = [
            typeface.wrap(column.title, wide - 2 * PAD + 1.5, self._head, True)
            for column, wide in zip(self._columns, self._widths, strict=True)
        ]
        lines = max(map(len, wrapped))
        for column, wide, titles in zip(self._columns, self._widths, wrapped, strict=True):
            with sheet.artifact() if self._announced else sheet.element("TH"):
                for index, title in enumerate(titles):
                    at, y = self._x(x, wide, column), sheet.y - 11 - 9.5 * (lines - len(titles) + index)
                    sheet.text(at, y, title, self._head, bold=True, align=column.align, grey=SOFT)
            x += wide
        sheet.y -= 11 + 9.5 * (lines - 1) + 4.5
        sheet.line(sheet.left, sheet.y, sheet.right, sheet.y, width=0.8, grey=SOFT)

    def _wrapped(self, row: Sequence[str]) -> list[list[str]]:
        return [
            typeface.wrap(cell, wide - 2 * PAD, SIZE, column.bold)
            for cell, column, wide in zip(row, self._columns, self._widths, strict=True)
        ]

    def _row(self, row: Sequence[Sequence[str]], high: float) -> None:
        sheet, x = self._sheet, self._sheet.left
        for column, wide, lines in zip(self._columns, self._widths, row, strict=True):
            sheet.open("TD")
            if lines == [BOX]:
                sheet.box(x + PAD, sheet.y - PAD - 9.5, 9.5, 9.5)
            else:
                at, y = self._x(x, wide, column), sheet.y - PAD - SIZE + 0.6
                for line in lines:
                    sheet.text(at, y, line, SIZE, bold=column.bold, align=column.align, grey=INK)
                    y -= LEADING
            sheet.close()
            x += wide
        sheet.y -= high
        sheet.line(sheet.left, sheet.y, sheet.right, sheet.y, width=0.4, grey=LINE)

    @staticmethod
    def _x(x: float, wide: float, column: Column) -> float:
        return (
            x + wide - PAD
            if column.align == "right"
            else x + wide / 2
            if column.align == "middle"
            else x + PAD
        )


def _parted(cells: list[list[str]]) -> list[list[list[str]]]:
    """A row in parts of at most ``TALLEST`` lines, so that a very long note runs on over pages."""
    most = max(map(len, cells))
    return [[lines[at : at + TALLEST] for lines in cells] for at in range(0, most, TALLEST)]
