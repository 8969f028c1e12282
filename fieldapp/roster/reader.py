"""Reading a roster file of any kind that schools send: the door to this folder."""

from __future__ import annotations

from datetime import date
from itertools import islice
from os import PathLike
from pathlib import Path

from fieldapp.roster.characters import Characters, read_characters
from fieldapp.roster.columns import HEADER_SEARCHED, Columns, find_header
from fieldapp.roster.lines import DELIMITERS, read_lines
from fieldapp.roster.reading import DateOrder, NotARoster, RosterReading
from fieldapp.roster.rows import Table, read_rows

LARGEST_FILE = 32 * 1024 * 1024  # bytes; a list of 100,000 children with addresses stays below
_HEAD = 256 * 1024  # characters that are looked through for a header


def read_roster(
    path: str | PathLike[str], *, date_order: DateOrder | None = None, today: date
) -> RosterReading:
    """Read the class list at ``path``.

    ``date_order`` is a person's word on dates that can be read in two ways. ``today`` decides which birth dates
    are plausible. Raises ``NotARoster`` where the file is no table of children and ``AmbiguousDates`` where its
    birth dates cannot be decided; both are ``Refused`` and import nothing.
    """
    file = Path(path)
    characters = read_characters(_bytes_of(file))
    reading = _read_text(characters, today=today, date_order=date_order)
    reading.notes[:0] = characters.notes
    return reading


def _bytes_of(file: Path) -> bytes:
    try:
        size = file.stat().st_size
        if size > LARGEST_FILE:
            raise NotARoster(
                f"This file has {size // 1_000_000} MB; a class list has at most {LARGEST_FILE // 1_000_000} MB.",
                todo="Check that it is the right file, or ask for the list of one school.",
            )
        with file.open("rb") as opened:
            return opened.read(LARGEST_FILE + 1)
    except OSError as error:
        raise NotARoster(
            f"The file cannot be opened: {error.strerror}.", todo="Check its name and place."
        ) from None


def _read_text(characters: Characters, *, today: date, date_order: DateOrder | None) -> RosterReading:
    found = _layout(characters.text)
    if found is None:
        raise NotARoster(
            f"No header row that names the children's columns was found in the first {HEADER_SEARCHED} rows.",
            todo="The header must have a column for the given and one for the family name, or one for both.",
        )
    delimiter, index, columns = found
    below = islice(read_lines(characters.text, delimiter), index + 1, None)
    table = Table.below(columns, below)
    if not table.lines:
        raise NotARoster("The file has a header row and no child below it.")
    reading = read_rows(table, today=today, date_order=date_order)
    if index:
        reading.notes.insert(0, f"{index} rows above the header were passed over.")
    return reading


def _layout(text: str) -> tuple[str, int, Columns] | None:
    """The delimiter with which a header can be read, and the header: most known columns first, then widest."""
    head = text[:_HEAD]
    best: tuple[str, int, Columns] | None = None
    for delimiter in DELIMITERS:
        rows = [line.cells for line in islice(read_lines(head, delimiter), HEADER_SEARCHED)]
        found = find_header(rows)
        if found is None:
            continue
        if best is None or _clearer(found[1], best[2]):
            best = (delimiter, *found)
    return best


def _clearer(one: Columns, other: Columns) -> bool:
    return (len(one.places), one.width) > (len(other.places), other.width)
