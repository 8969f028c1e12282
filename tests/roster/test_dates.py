"""Dates against ``date.isoformat`` (ISO 8601) and python-dateutil; the order of a column against its rows."""

from __future__ import annotations

from datetime import date

import pytest
from dateutil import parser as reference
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.roster.dates import age, column_order, implausible, is_date, readings

TODAY = date(2026, 10, 12)
BORN = st.dates(date(2005, 1, 1), date(2024, 12, 31))


@given(BORN)
def test_iso_8601_has_one_reading(born: date) -> None:
    # ISO 8601 calendar dates, extended and basic, with and without a time.
    for text in (
        born.isoformat(),
        born.strftime("%Y%m%d"),
        f"{born.isoformat()}T00:00:00",
        f"{born} 00:00:00.000",
        f"{born.isoformat()}T00:00:00Z",
        f"{born.isoformat()}T00:00:00.000+00:00",
    ):
        assert readings(text, TODAY).mdy == readings(text, TODAY).dmy == born, text


@pytest.mark.parametrize(
    "form",
    ["%m/%d/%Y", "%m-%d-%Y", "%m.%d.%Y", "%m/%d/%y", "%m %d %Y", "%m/%d/%Y 12:00:00 AM", "%m/%d/%Y 0:00"],
)
@given(born=BORN)
def test_numbers_are_read_as_dateutil_reads_them(form: str, born: date) -> None:
    # Reference: python-dateutil, with and without dayfirst, where the numbers allow the order at all.
    text = born.strftime(form)
    found = readings(text, TODAY)
    assert found.mdy == born == reference.parse(text, dayfirst=False).date()
    if born.day <= 12:
        assert found.dmy == reference.parse(text, dayfirst=True).date()
        assert found.undecided == (born.day != born.month)
    else:
        assert found.dmy is None


@pytest.mark.parametrize(
    "form", ["%d %B %Y", "%B %d, %Y", "%d-%b-%Y", "%b. %d %Y", "%d%b%Y", "%A, %B %d, %Y"]
)
@given(born=BORN)
def test_months_in_letters_are_read_as_dateutil_reads_them(form: str, born: date) -> None:
    text = born.strftime(form)
    assert readings(text, TODAY).mdy == readings(text, TODAY).dmy == born == reference.parse(text).date()


@pytest.mark.parametrize(
    "text",
    [
        "2 de mayo de 2017",
        "2 mayo 2017",
        "02-may-2017",
        "Martes, 2 de mayo de 2017",
        "2nd May 2017",
        "MAY 2 2017",
    ],
)
def test_spanish_and_spoken_forms(text: str) -> None:
    assert readings(text, TODAY).mdy == date(2017, 5, 2)


def test_september_has_two_spanish_spellings() -> None:
    assert (
        readings("1 setiembre 2018", TODAY).mdy
        == readings("1 septiembre 2018", TODAY).mdy
        == date(2018, 9, 1)
    )


@pytest.mark.parametrize(
    "text",
    ["31/31/2017", "2/30/2017", "2017-13-01", "42857", "Rivera", "5/2", "2017", "1/2/3", "", "5-2/2017"],
)
def test_what_is_no_date(text: str) -> None:
    assert not is_date(text, TODAY)


@given(st.text(max_size=30))
def test_any_text_has_readings(text: str) -> None:
    readings(text, TODAY)


@given(st.lists(BORN, min_size=1, max_size=30), st.sampled_from(["mdy", "dmy"]))
def test_a_column_is_decided_rightly_or_not_at_all(births: list[date], order: str) -> None:
    form = "%m/%d/%Y" if order == "mdy" else "%d/%m/%Y"
    texts = [born.strftime(form) for born in births]
    decided = column_order(texts, TODAY)
    telling = any(born.day > 12 for born in births)
    if telling:
        assert not decided.doubt
        assert [readings(text, TODAY).by(decided.order) for text in texts] == births
    elif any(born.day != born.month for born in births):
        assert decided.doubt
    else:
        assert [readings(text, TODAY).by(decided.order) for text in texts] == births


def test_one_odd_row_does_not_overturn_a_column() -> None:
    assert column_order(["05/23/2017"] * 11 + ["23/05/2017", "01/02/2017"], TODAY).order == "mdy"


def test_a_column_that_contradicts_itself_is_asked_about() -> None:
    decided = column_order(["05/23/2017"] * 3 + ["23/05/2017"] * 2 + ["01/02/2017"], TODAY)
    assert (decided.order, decided.doubt) == (None, "3 dates fit only the first and 2 only the second")


def test_a_column_without_a_doubtful_date_needs_no_order() -> None:
    assert column_order(["05/23/2017", "23/05/2017", "2017-01-02", "03/03/2017"], TODAY).order is None


def test_age_in_whole_years() -> None:
    assert age(date(2016, 10, 12), TODAY) == 10
    assert age(date(2016, 10, 13), TODAY) == 9
    assert age(date(2020, 2, 29), date(2027, 2, 28)) == 6


@pytest.mark.parametrize(
    ("born", "why"),
    [
        (date(2026, 10, 13), "future"),
        (date(2025, 1, 1), "younger"),
        (date(1971, 5, 2), "older"),
        (date(2004, 10, 13), ""),  # 21: special education may last to 21 (common practice, no source)
        (date(2023, 3, 1), ""),
    ],
)
def test_which_birth_dates_a_school_can_have(born: date, why: str) -> None:
    assert why in implausible(born, TODAY)
    assert bool(why) == bool(implausible(born, TODAY))
