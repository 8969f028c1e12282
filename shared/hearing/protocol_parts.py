"""The parts of a protocol that are tables of their own: level bands, exemptions, could-not-test rules, its origin.

Only small values, how a grade is written, and their reading from and to plain data may live here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from shared.hearing.fields import Fields


def plain_grade(grade: str) -> str:
    """A grade as rules name it: "PK", "K" or a number without leading zero; other texts in capitals."""
    words = grade.strip().upper().removeprefix("GRADE").strip()
    if words in {"0", "KG", "KINDERGARTEN"}:
        return "K"
    if words in {"P", "PREK", "PRE-K", "PRESCHOOL"}:
        return "PK"
    digits = words.rstrip("STNDRH")
    return str(int(digits)) if digits.isascii() and digits.isdigit() else words


@dataclass(frozen=True, slots=True)
class LevelBand:
    """The screening levels (dB HL by Hz) of some grades; no grades named: of all others."""

    by_hz: Mapping[int, int]
    grades: tuple[str, ...] = ()

    @classmethod
    def read(cls, fields: Fields, frequencies: tuple[int, ...]) -> LevelBand:
        """One band; refuses with the field named where a frequency of the walk has no level."""
        fields.only(("grades", "by_hz"))
        by_hz = fields.levels_by_hz("by_hz")
        if not set(frequencies) <= set(by_hz):
            raise fields.refused("by_hz", "gives no level for some frequency of the walk")
        if not all(0 <= level <= 60 for level in by_hz.values()):
            raise fields.refused("by_hz", "holds a level that is no screening level (0 to 60 dB HL)")
        return cls(by_hz, tuple(plain_grade(grade) for grade in fields.texts("grades")))

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {"grades": list(self.grades), "by_hz": {str(hz): level for hz, level in self.by_hz.items()}}


@dataclass(frozen=True, slots=True)
class Exemption:
    """A reason for which a child is not screened, and what the rule asks to be kept on file for it."""

    reason: str  # "declined", "under-care", ...
    words: str
    keep: str = ""
    months: int | None = None  # how long what is kept stands

    @classmethod
    def read(cls, fields: Fields) -> Exemption:
        """One exemption; refuses with the field named."""
        fields.only(("reason", "words", "keep", "months"))
        months = fields.maybe_whole("months", low=1, high=240)
        return cls(fields.text("reason"), fields.text("words"), fields.text("keep", ""), months)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class CouldNotTestRule:
    """What a child who could not be tested is owed, from ``min_age`` years on."""

    within_days: int
    action: str  # in words
    min_age: int = 0
    school_days: bool = False  # count Monday to Friday only

    @classmethod
    def read(cls, fields: Fields) -> CouldNotTestRule:
        """One rule; refuses with the field named."""
        fields.only(("within_days", "action", "min_age", "school_days"))
        return cls(
            within_days=fields.whole("within_days", low=0, high=730),
            action=fields.text("action"),
            min_age=fields.whole("min_age", 0, low=0, high=21),
            school_days=fields.flag("school_days", False),
        )

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return asdict(self)


@dataclass(frozen=True, slots=True)
class CopyOf:
    """The protocol that a local copy was made from, and which of its fields the copy changed."""

    name: str
    title: str
    changed: tuple[str, ...] = ()  # in the order of the protocol's fields

    def title_of(self, title: str) -> str:
        """What the copy is called: never the same as the original, whose authority it does not have."""
        return f"Local copy of {self.title}" if title == self.title else title

    @classmethod
    def read(cls, fields: Fields, known: Collection[str]) -> CopyOf:
        """Where a copy is from; refuses with the field named, also a changed field that is none of ``known``."""
        fields.only(("name", "title", "changed"))
        changed = fields.texts("changed")
        if not set(changed) <= set(known):
            raise fields.refused("changed", "names a field that is not known")
        return cls(fields.text("name"), fields.text("title"), changed)

    def to_dict(self) -> dict[str, Any]:
        """JSON-ready."""
        return {"name": self.name, "title": self.title, "changed": list(self.changed)}
