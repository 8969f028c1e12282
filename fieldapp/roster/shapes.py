"""Whether the columns hold what their titles say: two swapped columns are noticed before anything is imported.

Family and given names cannot be told apart by their shape, so a swap of these two is not noticed here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from datetime import date

from fieldapp.roster.columns import Columns
from fieldapp.roster.dates import is_date
from fieldapp.roster.grades import read_grade
from fieldapp.roster.people import holds_a_number
from fieldapp.roster.reading import NotARoster

_FEWEST = 3  # filled cells before a column is judged
_MOST = 1_000  # and as many as are looked at, from the top
_WEAK_NUMBER_TITLES = {"no", "n", "num", "number", "numero"}

# Field -> what its cells should be, in words.
_CONTENT = {
    "born": "dates",
    "given": "names",
    "family": "names",
    "name": "names",
    "grade": "grades",
    "student_number": "numbers",
}


def check_columns(columns: Columns, cells: Callable[[str], Sequence[str]], today: date) -> None:
    """Refuse a table whose columns hold something else than their titles say, naming the columns.

    ``cells`` gives the filled cells of a field. A column is suspect when more than half of its cells do not
    fit. Unknown grades and numbers alone are no reason to refuse; another column that fits better is.
    """
    filled = {field: cells(field)[:_MOST] for field in (*_CONTENT, "class_name") if field in columns.places}
    for field in _CONTENT:
        if field not in filled or len(filled[field]) < _FEWEST or _mostly(field, filled[field], today):
            continue
        partner = _partner(field, filled, today)
        if partner:
            raise NotARoster(
                f"The columns '{columns.title(field)}' and '{columns.title(partner)}' seem to be swapped: "
                f"'{columns.title(field)}' holds few {_CONTENT[field]}, '{columns.title(partner)}' holds many.",
                todo="Put the titles above the right columns and import again.",
            )
        if field not in ("grade", "student_number"):
            raise NotARoster(
                f"Most cells of column '{columns.title(field)}' are no {_CONTENT[field]}.",
                todo="Check that each title stands above the right column, and import again.",
            )


def is_running_number(title: str, cells: Sequence[str]) -> bool:
    """Whether a column called just "No." counts the rows 1, 2, 3 (perhaps anew for each class).

    Such numbers name a place in the list, not a child, and change with the next list.
    """
    plain = re.sub(r"\W", "", title.casefold()).replace("ú", "u")
    if (plain and plain not in _WEAK_NUMBER_TITLES) or not all(c.isascii() and c.isdigit() for c in cells):
        return False
    numbers = [int(cell) for cell in cells]
    steps = zip([0, *numbers], numbers, strict=False)
    return len(numbers) >= _FEWEST and all(now in (before + 1, 1) for before, now in steps)


def _partner(suspect: str, filled: dict[str, Sequence[str]], today: date) -> str:
    """The column that holds what the suspect should hold, and does not hold what it should itself."""
    for field, cells in filled.items():
        if field == suspect or len(cells) < _FEWEST or not _mostly(suspect, cells, today):
            continue
        if field in ("class_name", "student_number") or not _mostly(field, cells, today):
            return field
    return ""


def _mostly(field: str, cells: Sequence[str], today: date) -> bool:
    return 2 * sum(_fits(field, cell, today) for cell in cells) >= len(cells)


def _fits(field: str, cell: str, today: date) -> bool:
    if field == "born":
        return is_date(cell, today)
    if field == "grade":
        return read_grade(cell) is not None
    if field == "student_number":
        return any(character.isdigit() for character in cell) and not is_date(cell, today)
    return (
        any(c.isalpha() for c in cell)
        and not holds_a_number(cell)
        and not is_date(cell, today)
        and (len(cell) > 2 or read_grade(cell) is None)
    )
