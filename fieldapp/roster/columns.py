"""Which column holds what: finding the header row among the lines above it, and reading its titles.

The titles that are understood stand in ``titles.toml``, not here.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

HEADER_SEARCHED = 60  # rows that are looked through for a header
_LONGEST_TITLE = 60  # characters, in messages

# How a field is called where the file has no title for it.
_FIELD_WORDS: Mapping[str, str] = {
    "student_number": "student number",
    "given": "given name",
    "family": "family name",
    "born": "birth date",
    "class_name": "class",
    "language": "home language",
}
_OF_THE_CHILD = re.compile(
    r"^(?:students?|stu|std|pupils?|child|childs|childrens|learners?|scholars?|alumn[oa]s?|estudiantes?)(?=.)"
    r"|(?:del?|dela|of|ofthe)?(?:alumn[oa]s?|estudiantes?|nin[oa]s?|menor|student|child|pupil)$"
)


def plain_title(text: str) -> str:
    """A title as letters and digits only: accents, case, spaces and signs removed; # reads as number."""
    text = text.replace("#", " number ")
    text = re.sub(r"[№]|\b[Nn]\.?[º°]", " numero ", text)
    text = unicodedata.normalize("NFKD", text).casefold()
    return "".join(character for character in text if character.isalnum())


def _known_titles() -> dict[str, tuple[str, int]]:
    """Plain title -> its field, and its rank among the field's titles (0 first)."""
    fields = tomllib.loads((Path(__file__).with_name("titles.toml")).read_text(encoding="utf-8"))
    return {
        plain_title(title): (field, rank)
        for field, titles in fields.items()
        for rank, title in reversed(list(enumerate(titles)))
    }


_KNOWN = _known_titles()


def field_of(title: str) -> tuple[str, int] | None:
    """The field that a title stands for, and its rank among that field's titles; None if unknown."""
    for text in (title, re.sub(r"\(.*\)|\[.*\]", "", title)):  # "Last Name (Legal)", "DOB (mm/dd/yyyy)"
        plain = plain_title(text)
        known = _KNOWN.get(plain) or _KNOWN.get(_OF_THE_CHILD.sub("", plain))
        if known:
            return known
    return None


@dataclass(frozen=True, slots=True)
class Columns:
    """A header understood. ``places``: field -> cell index; ``titles``: field -> title as written."""

    places: Mapping[str, int]
    titles: Mapping[str, str]
    unused: tuple[str, ...]  # titles of columns that are not imported
    width: int  # columns up to the last one with a title

    @property
    def complete(self) -> bool:
        """Whether children can be named from it."""
        return "name" in self.places or {"given", "family"} <= self.places.keys()

    def title(self, field: str) -> str:
        """The column's own title, or the field's common name."""
        return self.titles.get(field) or _FIELD_WORDS.get(field, field)

    def pick(self, cells: Sequence[str]) -> dict[str, str]:
        """The fields of a row; cells that are missing are empty."""
        return {field: cells[place] if place < len(cells) else "" for field, place in self.places.items()}

    def without(self, field: str) -> Columns:
        """The same header with one field left unread."""
        places = {name: place for name, place in self.places.items() if name != field}
        titles = {name: title for name, title in self.titles.items() if name != field}
        return Columns(places, titles, (*self.unused, self.titles[field]), self.width)


def columns_of(cells: Sequence[str]) -> Columns:
    """Understand a row as a header, as far as it is one."""
    best: dict[str, tuple[int, int]] = {}  # field -> rank, place
    for place, cell in enumerate(cells):
        known = field_of(cell)
        if known is None:
            continue
        field, rank = known
        if field not in best or rank < best[field][0]:
            best[field] = (rank, place)
    places = {field: place for field, (_, place) in best.items()}
    if "name" in places and "family" in places and "given" not in places:
        places["given"] = places.pop("name")  # "Nombre" beside "Apellidos" is the given name
    if {"given", "family"} <= places.keys():
        places.pop("name", None)
    used = set(places.values())
    unused = tuple(_short(cell) for place, cell in enumerate(cells) if place not in used and cell.strip())
    titles = {field: _short(cells[place]) for field, place in places.items()}
    width = max((place for place, cell in enumerate(cells, start=1) if cell.strip()), default=0)
    return Columns(places, titles, unused, width)


def find_header(rows: Iterable[Sequence[str]]) -> tuple[int, Columns] | None:
    """The row with the most known titles, the earliest of equals: its index and columns. None without one.

    A line above the header, such as a school's name, holds one known word at most; a header holds two,
    unless the whole table has one column.
    """
    rows = list(rows)
    widest = max((len(row) for row in rows), default=0)
    best: tuple[int, Columns] | None = None
    for index, row in enumerate(rows):
        columns = columns_of(row)
        if not columns.complete or (len(columns.places) < 2 and widest > 1):
            continue
        if best is None or len(columns.places) > len(best[1].places):
            best = index, columns
    return best


def _short(title: str) -> str:
    return " ".join(title.split())[:_LONGEST_TITLE]
