"""An examiner's audiogram as it comes back to the school: thresholds by ear, conduction and frequency.

Only its fields and their checks may live here; what is worked out of them is in ``audiogram``. The app adds nothing
to what the examiner wrote. Levels in dB HL, frequencies in Hz.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from shared.hearing.fields import EARS, FieldRefused, Fields

CONDUCTIONS = ("air", "bone")
#: What may be typed in. ASHA Guidelines for Manual Pure-Tone Threshold Audiometry (2005): air at 250 to 8000 Hz, bone
#: at the octaves from 250 to 4000 Hz and 3000 Hz as needed (read); the between-octaves as in ANSI S3.21-2004.
FREQUENCIES = {
    "air": (250, 500, 750, 1000, 1500, 2000, 3000, 4000, 6000, 8000),
    "bone": (250, 500, 750, 1000, 1500, 2000, 3000, 4000),
}
EARPHONES = ("supra-aural", "insert")


@dataclass(frozen=True, slots=True)
class Reading:
    """One threshold; with ``no_response``, the highest level that was given without one."""

    ear: str
    conduction: str  # "air" or "bone"
    hz: int
    level_db_hl: int
    masked: bool = False
    no_response: bool = False

    @property
    def threshold(self) -> int | None:
        """The threshold, None for no response: never a number to reckon with."""
        return None if self.no_response else self.level_db_hl


@dataclass(frozen=True, slots=True)
class Examination:
    """One examination. ``earphones`` is empty where the examiner did not say which were worn."""

    examined: date
    readings: tuple[Reading, ...]  # right before left, air before bone, low to high
    examiner: str = ""  # name or office, as the reply says it
    earphones: str = ""
    note: str = ""

    @classmethod
    def from_dict(cls, data: object) -> Examination:
        """Read an examination; raises ``FieldRefused`` naming the first field that is wrong.

        ``{"examined": "2026-11-30", "right": {"air": {"1000": 30, "4000": {"no_response_at_db_hl": 100}},
        "bone": {"1000": {"level_db_hl": 10, "masked": true}}}, "left": ...}``; ``examiner``, ``earphones`` and
        ``note`` may be missing, and so may every frequency, but not all of them.
        """
        fields = Fields(data, _refusal)
        fields.only(("examined", "examiner", "earphones", "note", *EARS))
        examined = fields.day("examined")
        if examined is None:
            raise fields.refused("examined", "is missing")
        readings = tuple(reading for ear in EARS for reading in _of_ear(fields, ear))
        if not readings:
            raise fields.refused("right", "holds no threshold, nor does field 'left'")
        return cls(
            examined,
            readings,
            fields.text("examiner", "").strip(),
            fields.choice("earphones", ("", *EARPHONES), ""),
            fields.text("note", "").strip(),
        )

    def to_dict(self) -> dict[str, Any]:
        """The same as JSON-ready data; what is empty is left out."""
        said = {"examiner": self.examiner, "earphones": self.earphones, "note": self.note}
        found: dict[str, Any] = {"examined": self.examined.isoformat()}
        found |= {name: text for name, text in said.items() if text}
        for each in self.readings:
            found.setdefault(each.ear, {}).setdefault(each.conduction, {})[str(each.hz)] = _cell(each)
        return found

    def of(self, ear: str, conduction: str = "air") -> tuple[Reading, ...]:
        """The readings of one ear by one conduction, low to high."""
        return tuple(each for each in self.readings if (each.ear, each.conduction) == (ear, conduction))


def ordered(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """Readings as an ``Examination`` keeps them: right before left, air before bone, low to high."""
    return tuple(
        sorted(readings, key=lambda each: (EARS.index(each.ear), CONDUCTIONS.index(each.conduction), each.hz))
    )


def _refusal(field: str, reason: str) -> FieldRefused:
    return FieldRefused(
        field,
        reason,
        what="The audiogram",
        todo="Compare the field with the examiner's reply and correct it.",
    )


def _of_ear(fields: Fields, ear: str) -> Iterable[Reading]:
    table = fields.table(ear)
    if table is None:
        return
    table.only(CONDUCTIONS)
    for conduction in CONDUCTIONS:
        known = {str(hz): hz for hz in FREQUENCIES[conduction]}
        cells = table.raw(conduction, {})
        if not isinstance(cells, Mapping):
            raise table.refused(conduction, "must give a threshold for each frequency")
        for name in cells:
            if name not in known:
                tones = ", ".join(known)
                raise table.refused(conduction, f"must hold frequencies out of {tones} Hz")
        for name, hz in known.items():
            if cells.get(name) is not None:
                yield _reading(ear, conduction, hz, cells[name], f"{ear}.{conduction}.{name}")


def _reading(ear: str, conduction: str, hz: int, cell: object, path: str) -> Reading:
    """A cell: a level, or a table of ``level_db_hl`` or ``no_response_at_db_hl``, and ``masked``."""
    fields = Fields(cell if isinstance(cell, Mapping) else {"level_db_hl": cell}, _refusal, path)
    fields.only(("level_db_hl", "no_response_at_db_hl", "masked"))
    silent = fields.has("no_response_at_db_hl")
    if silent and fields.has("level_db_hl"):
        raise fields.refused(
            "level_db_hl", "is given beside no_response_at_db_hl; only one of them can be true"
        )
    level = fields.level("no_response_at_db_hl" if silent else "level_db_hl")
    return Reading(ear, conduction, hz, level, fields.flag("masked", False), silent)


def _cell(each: Reading) -> int | dict[str, Any]:
    if not each.masked and not each.no_response:
        return each.level_db_hl
    name = "no_response_at_db_hl" if each.no_response else "level_db_hl"
    return {name: each.level_db_hl, **({"masked": True} if each.masked else {})}
