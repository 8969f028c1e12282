"""Birth dates as they are compared: what kind of slip would turn one into the other. No weights, no clock."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache


class Birth(IntEnum):
    """How much two birth dates agree, best first."""

    SAME = 0
    SWAPPED = 1  # day and month exchanged
    ONE_DIGIT = 2  # one digit off, or two neighbouring digits exchanged
    DAY_MONTH = 3  # same day and month of another year
    YEAR_MONTH = 4  # same year and month, another day
    YEAR_DAY = 5  # same year and day, another month
    YEAR = 6  # same year only
    DIFFERENT = 7
    VAGUE = 8  # one of them is a placeholder such as 1 January
    UNKNOWN = 9  # one of them is empty or no date


@dataclass(frozen=True, slots=True)
class BirthDate:
    """Eight digits, or empty where the text is no date."""

    digits: str
    year: str
    month: str
    day: str
    placeholder: bool

    def __bool__(self) -> bool:
        return bool(self.digits)


NO_DATE = BirthDate("", "", "", "", False)


@lru_cache(maxsize=65536)
def birth_date(text: str) -> BirthDate:
    """Reads ``2017-05-02`` or ``20170502``. Impossible days are kept as written: they are slips to compare."""
    digits = text.replace("-", "").strip()
    if len(digits) != 8 or not (digits.isascii() and digits.isdigit()):
        return NO_DATE
    year, month, day = digits[:4], digits[4:6], digits[6:]
    return BirthDate(digits, year, month, day, (month, day) in PLACEHOLDERS or year in ("0000", "9999"))


PLACEHOLDERS = frozenset({("01", "01"), ("00", "00"), ("99", "99")})
"""Days that clerks write when they know none (common practice, no source)."""


@lru_cache(maxsize=65536)
def birth_level(a: BirthDate, b: BirthDate) -> Birth:
    """The smallest slip that explains the difference."""
    if not a.digits or not b.digits:
        return Birth.UNKNOWN
    if a.digits == b.digits:
        return Birth.SAME
    if a.placeholder != b.placeholder:
        return Birth.VAGUE
    same_year = a.year == b.year
    if same_year and a.month == b.day and a.day == b.month:
        return Birth.SWAPPED
    unlike = [at for at in range(8) if a.digits[at] != b.digits[at]]
    if len(unlike) == 1 or (
        len(unlike) == 2
        and unlike[1] == unlike[0] + 1
        and a.digits[unlike[0]] == b.digits[unlike[1]]
        and a.digits[unlike[1]] == b.digits[unlike[0]]
    ):
        return Birth.ONE_DIGIT
    same_month, same_day = a.month == b.month, a.day == b.day
    if same_month and same_day:
        return Birth.DAY_MONTH
    if same_year:
        return Birth.YEAR_MONTH if same_month else Birth.YEAR_DAY if same_day else Birth.YEAR
    return Birth.DIFFERENT
