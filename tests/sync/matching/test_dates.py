"""Birth dates: which slip turns one into the other."""

from __future__ import annotations

import datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.matching.dates import Birth, birth_date, birth_level


@pytest.mark.parametrize(
    ("a", "b", "level"),
    [
        ("2016-03-14", "20160314", Birth.SAME),
        ("2016-03-04", "2016-04-03", Birth.SWAPPED),
        ("2016-03-14", "2016-03-15", Birth.ONE_DIGIT),
        ("2016-03-14", "2016-03-41", Birth.ONE_DIGIT),
        ("2016-03-14", "2015-03-14", Birth.ONE_DIGIT),
        ("2009-12-31", "2010-12-31", Birth.DAY_MONTH),
        ("2016-03-14", "2016-03-25", Birth.YEAR_MONTH),
        ("2016-03-14", "2016-12-14", Birth.YEAR_DAY),
        ("2016-03-14", "2016-12-25", Birth.YEAR),
        ("2016-03-14", "2014-12-25", Birth.DIFFERENT),
        ("2016-01-01", "2016-12-25", Birth.VAGUE),
        ("2016-01-01", "2016-01-01", Birth.SAME),
        ("2016-03-14", "", Birth.UNKNOWN),
        ("2016-03-14", "spring", Birth.UNKNOWN),
    ],
)
def test_levels(a: str, b: str, level: Birth) -> None:
    assert birth_level(birth_date(a), birth_date(b)) == level
    assert birth_level(birth_date(b), birth_date(a)) == level


@given(
    st.dates(datetime.date(2005, 1, 1), datetime.date(2022, 12, 31)),
    st.integers(0, 7),
    st.sampled_from("0123456789"),
)
def test_one_digit_off_is_never_worse_than_one_digit(day: datetime.date, at: int, digit: str) -> None:
    first = birth_date(day.isoformat())
    second = birth_date(first.digits[:at] + digit + first.digits[at + 1 :])
    level = birth_level(first, second)
    assert level <= Birth.ONE_DIGIT or level == Birth.VAGUE
