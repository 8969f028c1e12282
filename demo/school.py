"""An invented school: its children, with names, grades, classes, birth dates, homes.

Reproducible from a seed.

What a child hears lives in ``children``; how the school's office writes the roster file in ``roster_file``.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from demo.names import ORIGINS, draw_origin

GRADES = ("K", "1", "2", "3", "4", "5")
# Children who are five on this day start kindergarten (a common cut-off, invented for this district).
CUT_OFF = (9, 1)

_STREETS = (
    "Quail Run Ct",
    "Old Ferry Rd",
    "Larkwood Ave",
    "Millrace Ln",
    "Juniper St",
    "Heron Way",
    "Cobbler's Row",
    "Tannery Hill Rd",
    "Second St",
    "Plum Orchard Dr",
    "Station Rd",
    "Kiln St",
)


@dataclass(frozen=True, slots=True)
class Pupil:
    """One invented child as the school knows it. ``born`` is the true birth date."""

    number: str
    given: str
    family: str
    born: date
    grade: str
    class_name: str
    language: str  # BCP 47 tag
    guardian: str
    address: tuple[str, str]  # street line, town line

    @property
    def name(self) -> str:
        """Given and family name, for the story that the demo tells."""
        return f"{self.given} {self.family}"


@dataclass(frozen=True, slots=True)
class School:
    """An invented school. ``pupils`` are in class order, by family name within a class."""

    name: str
    town: str
    pupils: tuple[Pupil, ...]
    twins: tuple[tuple[str, str], ...]  # student numbers of twins

    def classes(self) -> dict[str, list[Pupil]]:
        """The pupils by class, in the order of the grades."""
        found: dict[str, list[Pupil]] = {}
        for pupil in self.pupils:
            found.setdefault(pupil.class_name, []).append(pupil)
        return found

    def pupil(self, number: str) -> Pupil:
        """The pupil with this student number; ``KeyError`` where there is none."""
        for pupil in self.pupils:
            if pupil.number == number:
                return pupil
        raise KeyError(number)


def make_school(
    seed: int,
    *,
    name: str = "Quillmarsh Elementary School",
    town: str = "Quillmarsh",
    size: int = 420,
    school_year: int = 2026,
    first_number: int = 10_001,
    latin_1_only: bool = True,
    twin_pairs: int = 4,
) -> School:
    """An invented school of ``size`` children in grades K to 5, three or four classes a grade.

    ``school_year`` is the year in which the school year begins. With ``latin_1_only`` names keep only the
    letters of Windows-1252, as an older school system stores them (Nguyễn becomes Nguyen).
    """
    rng = Random(f"school {seed} {name}")
    numbers = iter(rng.sample(range(first_number, first_number + 9_000), size * 2))
    pupils: list[Pupil] = []
    taken: set[str] = set()
    for grade, classes in _class_sizes(rng, size):
        for letter, count in zip("ABCDEF", classes, strict=False):
            wanted = len(pupils) + count
            while len(pupils) < wanted:
                pupil = _pupil(rng, next(numbers), grade, f"{grade}{letter}", town, school_year, latin_1_only)
                if pupil.name not in taken:
                    taken.add(pupil.name)
                    pupils.append(pupil)
    pupils, twins = _with_twins(rng, pupils, twin_pairs)
    order = {grade: place for place, grade in enumerate(GRADES)}
    pupils.sort(key=lambda p: (order[p.grade], p.class_name, sort_key(p.family), sort_key(p.given)))
    return School(name, town, tuple(pupils), twins)


def sort_key(text: str) -> str:
    """A name as an office sorts it: without marks and capitals."""
    return "".join(c for c in unicodedata.normalize("NFKD", text.casefold()) if not unicodedata.combining(c))


def newcomer(
    rng: Random,
    number: int,
    class_name: str,
    town: str,
    *,
    school_year: int = 2026,
    latin_1_only: bool = True,
) -> Pupil:
    """A child who moved to the school after the roster was printed."""
    return _pupil(rng, number, class_name[0], class_name, town, school_year, latin_1_only)


def _class_sizes(rng: Random, size: int) -> Iterator[tuple[str, list[int]]]:
    """Each grade with the sizes of its classes: about 23 children each, the grades a little uneven."""
    weights = [rng.uniform(0.92, 1.08) for _ in GRADES]
    left, weight_left = size, sum(weights)
    for grade, weight in zip(GRADES, weights, strict=True):
        count = round(left * weight / weight_left)
        left, weight_left = left - count, weight_left - weight
        classes = max(1, round(count / 23))
        yield grade, [count // classes + (1 if k < count % classes else 0) for k in range(classes)]


def _pupil(
    rng: Random, number: int, grade: str, class_name: str, town: str, school_year: int, latin_1_only: bool
) -> Pupil:
    origin = ORIGINS[draw_origin(rng)]
    spell = _windows_letters if latin_1_only else str
    family = spell(origin.family(rng, origin.families))
    given = spell(rng.choice(origin.given))
    adult = spell(rng.choice(origin.adults))
    return Pupil(
        number=f"S-{number}",
        given=given,
        family=family,
        born=_birth_date(rng, grade, school_year),
        grade=grade,
        class_name=class_name,
        language=rng.choice(origin.languages),
        guardian=f"{adult} {family}",
        address=(f"{rng.randrange(2, 2400)} {rng.choice(_STREETS)}", f"{town} {_post_code(town)}"),
    )


def _birth_date(rng: Random, grade: str, school_year: int) -> date:
    """A birth date that fits the grade at the cut-off; one child in 25 repeats a year."""
    age = 5 + GRADES.index(grade) + (1 if rng.random() < 0.04 else 0)
    last = date(school_year - age, *CUT_OFF)
    return last - timedelta(days=rng.randrange(365))


def _post_code(town: str) -> str:
    """A code of five digits from a range that no post office uses."""
    return f"002{sum(map(ord, town)) % 90 + 10}"


def _with_twins(
    rng: Random, pupils: list[Pupil], pairs: int
) -> tuple[list[Pupil], tuple[tuple[str, str], ...]]:
    """Make some neighbours in a grade twins: one family name, birth date and home, two given names."""
    twins: list[tuple[str, str]] = []
    by_grade: dict[str, list[int]] = {}
    for place, pupil in enumerate(pupils):
        by_grade.setdefault(pupil.grade, []).append(place)
    for grade in rng.sample(GRADES, min(pairs, len(GRADES))):
        first, second = rng.sample(by_grade[grade], 2)
        elder, younger = pupils[first], pupils[second]
        if elder.given == younger.given:
            continue
        pupils[second] = replace(
            younger,
            family=elder.family,
            born=elder.born,
            language=elder.language,
            guardian=elder.guardian,
            address=elder.address,
        )
        twins.append((elder.number, younger.number))
    return pupils, tuple(twins)


def _windows_letters(text: str) -> str:
    """The name in letters that Windows-1252 has; others lose their marks."""
    return "".join(_windows_letter(letter) for letter in unicodedata.normalize("NFC", text))


_NO_MARK = {"ł": "l", "Ł": "L", "đ": "d", "Đ": "D"}


def _windows_letter(letter: str) -> str:
    try:
        letter.encode("cp1252")
        return letter
    except UnicodeEncodeError:
        plain = unicodedata.normalize("NFKD", _NO_MARK.get(letter, letter))
        # Keep a mark that Windows-1252 has (ễ becomes ê), then drop what is left.
        for length in (2, 1):
            try:
                composed = unicodedata.normalize("NFC", plain[:length])
                if len(composed) == 1:
                    composed.encode("cp1252")
                    return composed
            except UnicodeEncodeError:
                continue
        return "?"
