"""The roster file as a school's office sends it: messy in the ways that real ones are.

Two offices live here, one that exports from an old system (semicolons, Windows-1252, a title above the table)
and one with a newer system (commas, UTF-8 with a byte order mark). Both print US dates.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from demo.names import LANGUAGE_NAMES
from demo.school import Pupil, School

_OLD_SYSTEM_HEADER = (
    "Stu #",
    "Last Name",
    "First Name",
    "DOB",
    "Gr.",
    "Homeroom",
    "Home Lang",
    "Parent/Guardian",
    "Mailing Address",
    "Bus",
)
_NEW_SYSTEM_HEADER = (
    "Student ID",
    "Student Last Name",
    "Student First Name",
    "Birthdate",
    "Grade Level",
    "Class",
    "Home Language",
    "Guardian Name",
    "Address",
)


@dataclass(frozen=True, slots=True)
class RosterFacts:
    """What a careful reader must find in the file: its good rows, the broken ones and the repeated one."""

    path: Path
    listed: tuple[Pupil, ...]  # whose row can be imported
    broken: tuple[Pupil, ...]  # whose row lost its name on the way
    repeated: tuple[Pupil, ...]  # whose row stands there twice


def write_old_system_roster(path: Path, school: School, seed: int) -> RosterFacts:
    """A semicolon file in Windows-1252 with a title, a blank line, two broken rows and a repeated one."""
    rng = Random(f"roster {seed} {school.name}")
    broken = tuple(rng.sample(_singles(school), 2))
    listed = tuple(pupil for pupil in school.pupils if pupil not in broken)
    repeated = (rng.choice(listed[60:]),)
    two_line_address = rng.choice(listed[:40])
    rows: list[Sequence[str]] = []
    for pupil in school.pupils:
        row = _old_system_row(pupil, rng)
        if pupil is two_line_address:
            row[8] = "\n".join(pupil.address)
        if pupil is broken[0]:
            row[1] = row[2] = ""
        elif pupil is broken[1]:
            row = row[:2]
        rows.append(row)
        if pupil is repeated[0]:
            twice = list(row)
    rows.insert(rng.randrange(len(rows) * 2 // 3, len(rows)), twice)
    rows.insert(len(rows) // 2, [])
    text = (
        f"{school.name} - Student Listing by Homeroom;;;;;;;;;\r\nPrinted 10/12/2026 07:42;;;;;;;;;\r\n\r\n"
    )
    text += _table([_OLD_SYSTEM_HEADER, *rows], delimiter=";")
    path.write_bytes(text.encode("cp1252"))
    return RosterFacts(path, listed, broken, repeated)


def write_new_system_roster(path: Path, school: School, seed: int) -> RosterFacts:
    """A comma file in UTF-8 with a byte order mark; grades all of one style; one row repeated."""
    rng = Random(f"roster {seed} {school.name}")
    repeated = (rng.choice(school.pupils[30:]),)
    rows = [_new_system_row(pupil) for pupil in school.pupils]
    rows.append(_new_system_row(repeated[0]))
    text = _table([_NEW_SYSTEM_HEADER, *rows], delimiter=",")
    path.write_bytes(b"\xef\xbb\xbf" + text.encode())
    return RosterFacts(path, school.pupils, (), repeated)


def _singles(school: School) -> list[Pupil]:
    """Children who are nobody's twin."""
    twins = {number for pair in school.twins for number in pair}
    return [pupil for pupil in school.pupils if pupil.number not in twins]


# Each homeroom teacher writes the grade in their own way.
_GRADE_STYLES = {
    "K": ("K", "KG", "K"),
    "1": ("1", "01", "1st"),
    "2": ("02", "2nd", "2"),
    "3": ("3", "3rd", "03"),
    "4": ("4th", "4", "04"),
    "5": ("05", "5", "5th"),
}


def _old_system_row(pupil: Pupil, rng: Random) -> list[str]:
    styles = _GRADE_STYLES[pupil.grade]
    zero = rng.random() < 0.2
    return [
        pupil.number,
        pupil.family + (" " if rng.random() < 0.05 else ""),
        pupil.given,
        pupil.born.strftime("%m/%d/%Y") if zero else f"{pupil.born.month}/{pupil.born.day}/{pupil.born.year}",
        styles[(ord(pupil.class_name[-1]) - ord("A")) % len(styles)],
        pupil.class_name,
        LANGUAGE_NAMES[pupil.language],
        f"{pupil.guardian}; or neighbor" if rng.random() < 0.02 else pupil.guardian,
        ", ".join(pupil.address),
        rng.choice(("", "2", "7", "11", "Walker")),
    ]


def _new_system_row(pupil: Pupil) -> list[str]:
    return [
        pupil.number,
        pupil.family,
        pupil.given,
        pupil.born.strftime("%m/%d/%Y"),
        "KG" if pupil.grade == "K" else f"0{pupil.grade}",
        pupil.class_name,
        pupil.language,
        pupil.guardian,
        ", ".join(pupil.address),
    ]


def _table(rows: Iterable[Sequence[str]], *, delimiter: str) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    return out.getvalue()
