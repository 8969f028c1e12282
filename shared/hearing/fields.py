"""Reading checked values out of plain data (a TOML table, a JSON object), each refusal naming the field.

Only value reading may live here: no rule of the trade, no file access.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any

from shared.errors import Refused

EARS = ("right", "left")
MISSING: Any = object()

# Air-conduction frequencies: ASHA Guidelines for Manual Pure-Tone Threshold Audiometry (2005) name 250, 500,
# 1000, 2000, 3000, 4000, 6000, 8000 and sometimes 125; ANSI S3.21-2004 adds the between-octaves 750 and 1500.
FREQUENCIES = (125, 250, 500, 750, 1000, 1500, 2000, 3000, 4000, 6000, 8000)
OCTAVE_BANDS = (31, 63, 125, 250, 500, 1000, 2000, 4000, 8000)


class FieldRefused(Refused):
    """A value is missing or nonsensical; ``field`` is its dotted name."""

    def __init__(self, field: str, reason: str, *, what: str = "The data", todo: str = "") -> None:
        self.field = field
        self.reason = reason
        super().__init__(f"{what} is refused: field '{field}' {reason}.", todo=todo)


class Fields:
    """A mapping read field by field; every complaint is raised as ``refusal(field, reason)``."""

    def __init__(
        self, data: object, refusal: Callable[[str, str], Refused] = FieldRefused, within: str = ""
    ) -> None:
        self._refusal = refusal
        self._within = within
        if not isinstance(data, Mapping):
            raise refusal(within or "whole", "must be a table of named values")
        self._data = data

    def refused(self, name: str, reason: str) -> Refused:
        """The refusal for one field, with the path to it."""
        return self._refusal(f"{self._within}.{name}" if self._within else name, reason)

    def only(self, known: Iterable[str]) -> None:
        """Refuse names that mean nothing here (a misspelt field must not be dropped silently)."""
        for name in self._data:
            if name not in known:
                raise self.refused(str(name), "is not known")

    def has(self, name: str) -> bool:
        """Whether the field is there and not empty (None)."""
        return self._data.get(name) is not None

    def raw(self, name: str, default: Any = MISSING) -> Any:
        """The value as it stands."""
        value = self._data.get(name)
        if value is not None:
            return value
        if default is MISSING:
            raise self.refused(name, "is missing")
        return default

    def text(self, name: str, default: Any = MISSING) -> str:
        """A string; one without a default may not be blank."""
        value = self.raw(name, default)
        if not isinstance(value, str) or (default is MISSING and not value.strip()):
            raise self.refused(name, "must be a text")
        return value

    def flag(self, name: str, default: Any = MISSING) -> bool:
        """True or false."""
        value = self.raw(name, default)
        if not isinstance(value, bool):
            raise self.refused(name, "must be true or false")
        return value

    def whole(self, name: str, default: Any = MISSING, *, low: int, high: int) -> int:
        """A whole number from ``low`` to ``high``."""
        return self._whole(name, self.raw(name, default), low, high)

    def maybe_whole(self, name: str, *, low: int, high: int) -> int | None:
        """A whole number from ``low`` to ``high``, or None where the field is missing."""
        return self.whole(name, low=low, high=high) if self.has(name) else None

    def level(self, name: str, default: Any = MISSING) -> int:
        """A hearing level in dB HL on the 5 dB grid (see ``on_grid``)."""
        return self._level(name, self.raw(name, default))

    def maybe_level(self, name: str) -> int | None:
        """A hearing level, or None where the field is missing."""
        return self.level(name) if self.has(name) else None

    def choice(self, name: str, choices: tuple[str, ...], default: Any = MISSING) -> str:
        """One of the named words."""
        value = self.raw(name, default)
        if value not in choices:
            raise self.refused(name, f"must be one of {', '.join(choices)}")
        return str(value)

    def day(self, name: str) -> date | None:
        """A calendar day, given as a date or as ISO text; None where missing or empty."""
        value = self.raw(name, "")
        if value == "":
            return None
        return self._day(name, value)

    def texts(self, name: str, default: Any = ()) -> tuple[str, ...]:
        """A list of strings."""
        value = self.raw(name, default)
        if isinstance(value, str) or not isinstance(value, list | tuple):
            raise self.refused(name, "must be a list of texts")
        if not all(isinstance(each, str) for each in value):
            raise self.refused(name, "must be a list of texts")
        return tuple(value)

    def frequencies(self, name: str, default: Any = MISSING) -> tuple[int, ...]:
        """A list of audiometer frequencies in Hz, none twice."""
        value = self.raw(name, default)
        if not isinstance(value, list | tuple):
            raise self.refused(name, "must be a list of frequencies in Hz")
        found = tuple(self._frequency(name, each) for each in value)
        if len(set(found)) < len(found):
            raise self.refused(name, "names a frequency twice")
        return found

    def levels_by_hz(self, name: str, default: Any = MISSING) -> dict[int, int]:
        """Hearing levels in dB HL by frequency in Hz (keys as text or number)."""
        value = self.raw(name, default)
        if not isinstance(value, Mapping):
            raise self.refused(name, "must give a level in dB HL for each frequency")
        return {self._frequency(name, hz): self._level(name, level) for hz, level in value.items()}

    def numbers_by_hz(self, name: str) -> dict[int, float]:
        """Any finite numbers by frequency in Hz; empty where missing."""
        value = self.raw(name, {})
        if not isinstance(value, Mapping):
            raise self.refused(name, "must give a number for each frequency")
        read: dict[int, float] = {}
        for hz, number in value.items():
            if isinstance(number, bool) or not isinstance(number, int | float) or abs(number) > 200:
                raise self.refused(name, "holds something that is not a level in dB")
            read[self._frequency(name, hz, octave_band=True)] = float(number)
        return read

    def tables(self, name: str) -> tuple[Fields, ...]:
        """A list of tables, each to be read in its turn."""
        value = self.raw(name, ())
        if not isinstance(value, list | tuple):
            raise self.refused(name, "must be a list of tables")
        return tuple(
            Fields(each, self._refusal, f"{self._within}.{name}" if self._within else name) for each in value
        )

    def table(self, name: str) -> Fields | None:
        """One table, or None where missing."""
        if not self.has(name):
            return None
        return Fields(self.raw(name), self._refusal, f"{self._within}.{name}" if self._within else name)

    def by_ear(self, name: str) -> dict[str, Any]:
        """Values by ear ("right", "left"); empty where missing."""
        value = self.raw(name, {})
        if not isinstance(value, Mapping) or not all(ear in EARS for ear in value):
            raise self.refused(name, "must be given by ear, right and left")
        return dict(value)

    def _whole(self, name: str, value: object, low: int, high: int) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            raise self.refused(name, f"must be a whole number from {low} to {high}")
        return value

    def _level(self, name: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not on_grid(value):
            raise self.refused(name, "must be a level from -10 to 120 dB HL in steps of 5")
        return value

    def _frequency(self, name: str, value: object, *, octave_band: bool = False) -> int:
        if isinstance(value, str) and value.isascii() and value.isdigit():
            value = int(value)
        known = OCTAVE_BANDS if octave_band else FREQUENCIES
        if isinstance(value, bool) or not isinstance(value, int) or value not in known:
            raise self.refused(name, f"must hold frequencies out of {', '.join(map(str, known))} Hz")
        return value

    def _day(self, name: str, value: object) -> date:
        if isinstance(value, date):
            return date(value.year, value.month, value.day)
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            raise self.refused(name, "must be a day such as 2026-08-20") from None


def on_grid(level: int) -> bool:
    """Whether a level lies on the 5 dB grid of the clinical range, -10 to 120 dB HL."""
    return -10 <= level <= 120 and level % 5 == 0
