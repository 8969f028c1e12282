"""Who is due, who is exempt, what follows where a child could not be tested, and ears that are not tested.

Outside: Arizona R9-13-103 (10 school days) and R9-13-105 (audiology report of at most 12 months), Minnesota
follow-up page (age 3: within 6 months, 4 and older: within 30 days) and web course (tenderness, drainage, odour: no
earphones), 77 Ill. Adm. Code 675.110 in a district's copy (12 months): all read.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.due import (
    exempt_for,
    exemption,
    exemption_ends,
    exemption_over,
    exemption_stands,
    months_later,
    why_due,
)
from shared.hearing.not_tested import (
    EAR_SIGNS,
    age_on,
    could_not_test,
    ear_problem,
    earphones_allowed,
    weekdays_later,
)
from shared.hearing.protocol import Protocol

Preset = Callable[[str], Protocol]
DAY = date(2026, 9, 14)  # a Monday


@pytest.mark.parametrize(
    ("grade", "reasons", "why"),
    [
        ("1", (), ("grade",)),
        ("1st", (), ("grade",)),
        ("4", (), ()),
        ("4", ("concern",), ("concern",)),
        ("4", ("absent-last-time", "new"), ("new", "absent-last-time")),
        ("1", ("new",), ("grade", "new")),
        ("", (), ()),
    ],
)
def test_due_by_grade_and_by_other_reasons(
    preset: Preset, grade: str, reasons: tuple[str, ...], why: tuple[str, ...]
) -> None:
    assert why_due(preset("washington-246-760"), grade, reasons) == why


def test_a_source_without_grades_makes_every_grade_due(preset: Preset) -> None:
    assert why_due(preset("minnesota"), "6") == ("grade",)


@pytest.mark.parametrize(
    ("name", "reason", "given_on", "last"),
    [
        ("arizona-r9-13", "under-care", date(2025, 9, 14), date(2026, 9, 14)),
        ("arizona-r9-13", "declined", date(2025, 9, 14), date(2026, 9, 14)),
        ("illinois-675", "under-care", date(2024, 2, 29), date(2025, 2, 28)),
    ],
)
def test_a_report_exempts_for_twelve_months_its_last_day_included(
    preset: Preset, name: str, reason: str, given_on: date, last: date
) -> None:
    rule = exemption(preset(name), reason)
    assert rule is not None
    assert exemption_ends(rule, given_on) == last
    assert exemption_stands(rule, given_on, last)
    assert not exemption_stands(rule, given_on, last + timedelta(days=1))
    assert not exemption_stands(rule, given_on, given_on - timedelta(days=1))


def test_an_exemption_without_an_end_stands(preset: Preset) -> None:
    rule = exemption(preset("illinois-675"), "declined")
    assert rule is not None
    assert exemption_stands(rule, date(2020, 1, 1), DAY)
    assert exemption(preset("minnesota"), "age") is None


@pytest.mark.parametrize(
    ("name", "on_file", "exempt", "over"),
    [
        ("arizona-r9-13", ("under-care 2025-09-14",), "under-care", False),
        ("arizona-r9-13", ("under-care 2025-09-13",), "", True),
        ("arizona-r9-13", ("under-care",), "", True),  # no day: it may be older than 12 months
        ("arizona-r9-13", ("under-care 2025-09-13", "declined 2026-01-10"), "declined", False),
        ("illinois-675", ("declined",), "declined", False),  # an objection without an end
        ("illinois-675", ("under-care 2025-10-01", "declined"), "declined", False),
        ("minnesota", ("under-care",), "under-care", False),  # no rule, so no end
        ("minnesota", (), "", False),
    ],
)
def test_what_is_on_file_exempts_while_it_stands_and_makes_due_again_after(
    preset: Preset, name: str, on_file: tuple[str, ...], exempt: str, over: bool
) -> None:
    assert exempt_for(preset(name), on_file, DAY) == exempt
    assert exemption_over(preset(name), on_file, DAY) is over


@given(st.dates(date(1990, 1, 1), date(2080, 1, 1)), st.integers(1, 240))
def test_months_later_is_the_same_day_or_the_months_last(day: date, months: int) -> None:
    later = months_later(day, months)
    assert (later.year * 12 + later.month) - (day.year * 12 + day.month) == months
    assert later.day == day.day or (later.day < day.day and (later + timedelta(days=1)).day == 1)


@pytest.mark.parametrize(
    ("name", "age", "last"),
    [
        ("minnesota", 3, DAY + timedelta(days=182)),
        ("minnesota", 4, DAY + timedelta(days=30)),
        ("minnesota", 12, DAY + timedelta(days=30)),
        ("minnesota", 2, DAY + timedelta(days=182)),
        ("minnesota", None, DAY + timedelta(days=30)),
        ("arizona-r9-13", 7, date(2026, 9, 28)),
        ("aaa-2011", 7, DAY + timedelta(days=42)),
    ],
)
def test_could_not_test_has_a_follow_up_of_its_own(
    preset: Preset, name: str, age: int | None, last: date
) -> None:
    stands = could_not_test(preset(name), DAY, age)
    assert stands.status == "could-not-test"
    assert stands.window == (DAY, last)
    local = preset(name).mark_of("could_not_test") == "set locally"
    assert ("set locally" in stands.why) is local


@pytest.mark.parametrize(
    ("start", "days", "end"),
    [
        (date(2026, 9, 14), 5, date(2026, 9, 21)),
        (date(2026, 9, 18), 1, date(2026, 9, 21)),
        (date(2026, 9, 19), 1, date(2026, 9, 21)),
        (date(2026, 9, 14), 0, date(2026, 9, 14)),
    ],
)
def test_school_days_leave_weekends_out(start: date, days: int, end: date) -> None:
    assert weekdays_later(start, days) == end


@pytest.mark.parametrize(
    ("born", "day", "age"),
    [
        (date(2022, 9, 14), DAY, 4),
        (date(2022, 9, 15), DAY, 3),
        (date(2020, 2, 29), date(2026, 2, 28), 5),
        (date(2020, 2, 29), date(2026, 3, 1), 6),
    ],
)
def test_age_in_whole_years(born: date, day: date, age: int) -> None:
    assert age_on(born, day) == age


@pytest.mark.parametrize("sign", ["drainage", "tenderness", "odour", "pain", "something else"])
def test_a_visible_ear_problem_stops_before_the_earphones(sign: str) -> None:
    assert not earphones_allowed([sign])
    stands = ear_problem([sign])
    assert (stands.status, stands.window) == ("ear-problem", None)
    assert "medical care" in stands.why


def test_harmless_signs_do_not_stop() -> None:
    assert earphones_allowed([])
    assert earphones_allowed(["structure"])
    assert not earphones_allowed(["structure", "pain"])
    assert all(sign.source for sign in EAR_SIGNS)
