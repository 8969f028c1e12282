"""The door to this folder: a roster file of any kind that schools send, read by its content, not its name."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date
from itertools import islice
from os import PathLike
from pathlib import Path

from fieldapp.roster.archive import ArchiveKind, open_archive
from fieldapp.roster.characters import read_characters
from fieldapp.roster.columns import HEADER_SEARCHED, Columns, find_header
from fieldapp.roster.lines import DELIMITERS, Line, read_lines
from fieldapp.roster.oneroster import OneRosterFiles, oneroster_table
from fieldapp.roster.reading import DateOrder, NotARoster, RosterReading
from fieldapp.roster.rows import read_rows
from fieldapp.roster.spreadsheet import read_sheets
from fieldapp.roster.table import Table

LARGEST_FILE = 32 * 1024 * 1024  # bytes; a list of 100,000 children with addresses stays below
_HEAD = 256 * 1024  # characters that are looked through for a header
_ZIP = b"PK\x03\x04"


def read_roster(
    path: str | PathLike[str],
    *,
    date_order: DateOrder | None = None,
    today: date,
    school: str = "",
) -> RosterReading:
    """Read the class list at ``path``: CSV, .xlsx, or a OneRoster CSV set (a folder or a zip).

    ``date_order`` is a person's word on dates that can be read in two ways. ``today`` decides which birth
    dates are plausible. ``school`` keeps one school of a list that names several.
    Raises ``NotARoster`` where the file is no table of children and ``AmbiguousDates`` where its birth dates
    cannot be decided; both are ``Refused``, and nothing is imported.
    """
    tables = list(_tables(Path(path), today, school))
    if not any(table.data_lines - table.blank_lines for table in tables):
        raise NotARoster("The file has a header row and no child below it.")
    reading = read_rows(tables, today=today, date_order=date_order, school=school)
    if school and not reading.rows and not reading.problems:
        raise NotARoster("The file lists no child of the school that was named.", todo="Check its name.")
    return reading


def _tables(file: Path, today: date, school: str) -> Iterable[Table]:
    if file.is_dir():
        return [oneroster_table(OneRosterFiles.in_folder(file, LARGEST_FILE), today=today, school=school)]
    data = _bytes_of(file)
    if not data.startswith(_ZIP):
        table = _text_table(data)
        if "enabledUser" in table.columns.unused:  # the users file of a OneRoster set, chosen by itself
            return _tables(file.parent, today, school)
        return [table]
    archive = open_archive(data)
    if archive.kind is ArchiveKind.WORKBOOK:
        return _sheet_tables(data)
    return [oneroster_table(OneRosterFiles.in_archive(archive), today=today, school=school)]


def _bytes_of(file: Path) -> bytes:
    try:
        size = file.stat().st_size
        if size > LARGEST_FILE:
            raise NotARoster(
                f"This file has {size // 1_000_000} MB; a class list has at most {LARGEST_FILE // 1_000_000}.",
                todo="Check that it is the right file, or ask for the list of one school.",
            )
        with file.open("rb") as opened:
            return opened.read(LARGEST_FILE)
    except OSError as error:
        raise NotARoster(
            f"The file cannot be opened ({error.strerror}).", todo="Check its name and place."
        ) from None


def _text_table(data: bytes) -> Table:
    characters = read_characters(data)
    text = characters.text
    found = _layout(text)
    if found is None:
        raise _no_header("this file")
    delimiter, index, columns = found
    table = Table.below(columns, islice(read_lines(text, delimiter), index + 1, None))
    table.notes.extend(characters.notes)
    table.notes.extend(_above(index))
    return table


def _layout(text: str) -> tuple[str, int, Columns] | None:
    """The delimiter with which the header shows most known columns, the header's row index, its columns."""
    head = text[:_HEAD]
    best: tuple[str, int, Columns] | None = None
    for delimiter in DELIMITERS:
        found = _header(lambda delimiter=delimiter: read_lines(head, delimiter))  # type: ignore[misc]
        if found and (best is None or _clearness(found[1]) > _clearness(best[2])):
            best = (delimiter, *found)
    return best


def _clearness(columns: Columns) -> tuple[int, int]:
    return len(columns.places), columns.width


def _header(lines: Callable[[], Iterable[Line]]) -> tuple[int, Columns] | None:
    return find_header([line.cells for line in islice(lines(), HEADER_SEARCHED)])


def _sheet_tables(data: bytes) -> list[Table]:
    """Every visible sheet that has a header; their names only matter where there are several."""
    tables: list[Table] = []
    others: list[str] = []
    for sheet in read_sheets(data):
        found = _header(sheet.lines)
        if found is None:
            others.append(sheet.title)
            continue
        index, columns = found
        table = Table.below(columns, islice(sheet.lines(), index + 1, None), sheet.title)
        table.notes.extend(_above(index))
        if table.lines:
            tables.append(table)
    if not tables:
        raise _no_header("any sheet of this workbook" if len(others) > 1 else "this workbook")
    if len(tables) == 1:
        tables[0].sheet = ""
    if others:
        tables[0].notes.append(f"Sheets without a class list, left out: {', '.join(others)}.")
    return tables


def _above(index: int) -> list[str]:
    return [f"Rows above the header, passed over: {index}."] if index else []


def _no_header(where: str) -> NotARoster:
    return NotARoster(
        f"No header row that names the children's columns was found in the first {HEADER_SEARCHED} rows "
        f"of {where}.",
        todo="The header needs a column for the given name and one for the family name, or one for both.",
    )
