"""A person made ready for comparing: every field folded once. No weights, no decisions."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from shared.records.standing import Person
from sync.matching.dates import BirthDate, birth_date
from sync.matching.names import Name, fold, given_name, name, sound


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """The folded fields of one person; empty strings: unknown."""

    given: Name
    family: Name
    given_shown: str  # as they are written
    family_shown: str
    born: BirthDate
    number: str
    grade: str
    class_name: str
    class_shown: str  # as it is written
    postcode: str
    street: str
    guardian: str
    added: bool
    starts: frozenset[str]  # how each part of the names begins to sound


@lru_cache(maxsize=65536)
def record(person: Person) -> Record:
    """The person as it is compared. The same person gives the same object, so that comparing is cheap."""
    given, family = given_name(person.given), name(person.family)
    return Record(
        given=given,
        family=family,
        given_shown=person.given,
        family_shown=person.family,
        born=birth_date(person.born),
        number=_squeezed(person.student_number),
        grade=_grade(person.grade),
        class_name=_squeezed(person.class_name),
        class_shown=person.class_name.strip(),
        postcode=_postcode(person.address),
        street=_squeezed(person.address[0]) if len(person.address) > 1 else "",
        guardian=" ".join(sorted(fold(person.guardian).split())),
        added=person.added,
        starts=frozenset(sound(part)[:2] for part in (*given.parts, *family.parts)),
    )


def _squeezed(text: str) -> str:
    return fold(text).replace(" ", "")


def _grade(text: str) -> str:
    """ "Grade 3", "3rd" and "03" are all "3"; kindergarten stays a word."""
    digits = "".join(sign for sign in text if sign.isascii() and sign.isdigit()).lstrip("0")
    return digits or _squeezed(text)


def _postcode(lines: tuple[str, ...]) -> str:
    """The last word of the last line that holds a digit and four signs at least; a ZIP+4 counts as its ZIP."""
    for word in reversed(lines[-1].split() if lines else ()):
        kept = fold(word.partition("-")[0]).replace(" ", "")
        if len(kept) >= 4 and any(sign.isdigit() for sign in kept):
            return kept
    return ""
