"""Stages and windows: the exact edges, and what no order of results may do.

Outside: Minnesota's 14 to 21 days (state follow-up page, read); Texas 21 to 28 days (25 TAC 37.24, read);
Pennsylvania's two to four weeks (a school's page, second-hand). The rest is calendar arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.errors import Refused
from shared.hearing.followup import (
    StageResult,
    Timing,
    disposition,
    rescreen_window,
    timing,
)
from shared.hearing.protocol import LevelBand, Protocol
from shared.hearing.referral import ThresholdOutcome

Preset = Callable[[str], Protocol]
DAY = date(2026, 9, 14)


def after(days: int) -> date:
    return DAY + timedelta(days=days)


@pytest.mark.parametrize(
    ("name", "days", "expected"),
    [
        ("pennsylvania-23-5", 13, Timing.TOO_EARLY),
        ("pennsylvania-23-5", 14, Timing.DUE),
        ("pennsylvania-23-5", 28, Timing.DUE),
        ("pennsylvania-23-5", 29, Timing.OVERDUE),
        ("minnesota", 13, Timing.TOO_EARLY),
        ("minnesota", 14, Timing.DUE),
        ("minnesota", 21, Timing.DUE),
        ("minnesota", 22, Timing.OVERDUE),
        ("texas-37-24", 20, Timing.TOO_EARLY),
        ("texas-37-24", 21, Timing.DUE),
        ("texas-37-24", 28, Timing.DUE),
        ("texas-37-24", 29, Timing.OVERDUE),
        ("washington-246-760", 0, Timing.TOO_EARLY),
        ("washington-246-760", 42, Timing.DUE),
        ("washington-246-760", 43, Timing.OVERDUE),
    ],
)
def test_edges_of_the_windows(preset: Preset, name: str, days: int, expected: Timing) -> None:
    assert timing(rescreen_window(preset(name), DAY), after(days)) is expected


def test_a_window_runs_over_the_end_of_a_leap_february(preset: Preset) -> None:
    assert rescreen_window(preset("minnesota"), date(2028, 2, 20)) == (date(2028, 3, 5), date(2028, 3, 12))


def test_a_window_without_a_last_day_is_never_overdue(preset: Preset) -> None:
    window = rescreen_window(preset("aaa-2011").copied("open", rescreen_days=[14]), DAY)
    assert timing(window, after(3000)) is Timing.DUE


def test_a_pass_needs_nothing_more(preset: Preset) -> None:
    stands = disposition(preset("aaa-2011"), [StageResult(DAY, True)])
    assert (stands.status, stands.window) == ("passed", None)


def test_a_first_miss_is_a_rescreen_in_its_window(preset: Preset) -> None:
    stands = disposition(preset("aaa-2011"), [StageResult(DAY, False)])
    assert (stands.status, stands.window) == ("rescreen", (after(14), after(42)))
    assert "set locally" in stands.why


@pytest.mark.parametrize(
    ("days", "status"), [(13, "rescreen"), (14, "passed"), (21, "passed"), (90, "passed")]
)
def test_a_passed_rescreen_takes_the_child_off_the_list_only_in_time_or_late(
    preset: Preset, days: int, status: str
) -> None:
    stands = disposition(preset("minnesota"), [StageResult(DAY, False), StageResult(after(days), True)])
    assert stands.status == status
    if status == "rescreen":
        assert stands.window == (after(14), after(21)), "the window of the first failing screening stands"


@pytest.mark.parametrize(("days", "status"), [(13, "rescreen"), (14, "referred"), (29, "referred")])
def test_a_failed_rescreen_refers_from_the_windows_first_day(preset: Preset, days: int, status: str) -> None:
    stands = disposition(preset("minnesota"), [StageResult(DAY, False), StageResult(after(days), False)])
    assert stands.status == status


def test_california_goes_to_the_threshold_test_at_once(preset: Preset) -> None:
    """17 CCR 2951, second-hand: fail -> pure-tone threshold test."""
    protocol = preset("california-2951")
    assert disposition(protocol, [StageResult(DAY, False)]).status == "threshold"
    met = ThresholdOutcome(after(3), {"right": {1000: 40, 2000: 10, 4000: 10}})
    repeat = disposition(protocol, [StageResult(DAY, False)], [met])
    assert (repeat.status, repeat.window and repeat.window[0]) == ("threshold", after(17))
    again = ThresholdOutcome(after(17), {"right": {1000: 40}})
    assert disposition(protocol, [StageResult(DAY, False)], [met, again]).status == "referred"


def test_a_passing_screening_takes_nobody_off_threshold_or_referral(preset: Preset) -> None:
    failed = [StageResult(DAY, False)]
    passed_later = [*failed, StageResult(after(30), True)]
    assert disposition(preset("california-2951"), passed_later).status == "threshold"
    referred = [*failed, StageResult(after(14), False), StageResult(after(60), True)]
    assert disposition(preset("minnesota"), referred).status == "referred"


def test_a_new_miss_after_a_pass_begins_anew(preset: Preset) -> None:
    results = [StageResult(DAY, True), StageResult(after(200), False)]
    stands = disposition(preset("aaa-2011"), results)
    assert (stands.status, stands.window) == ("rescreen", (after(214), after(242)))


def test_a_threshold_test_with_gaps_clears_nobody(preset: Preset) -> None:
    two = [StageResult(DAY, False), StageResult(after(21), False)]
    part = ThresholdOutcome(after(22), {"right": {1000: 20}})
    stands = disposition(preset("texas-37-24"), two, [part])
    assert stands.status == "threshold"
    assert "incomplete" in stands.why


def test_a_protocol_without_a_rule_leaves_thresholds_to_the_lead(preset: Preset) -> None:
    found = ThresholdOutcome(DAY, {"right": {1000: 60}})
    assert disposition(preset("aaa-2011"), [], [found]).status == "threshold"
    assert disposition(preset("aaa-2011"), [StageResult(DAY, False)], [found]).status == "rescreen"


def test_no_result_no_disposition(preset: Preset) -> None:
    with pytest.raises(Refused):
        disposition(preset("aaa-2011"), [])


def plain(retest_from: int) -> Protocol:
    return Protocol(
        name="plain",
        title="plain",
        frequencies=(1000,),
        levels=(LevelBand({1000: 20}),),
        rescreen_days=(retest_from, None),
    )


results = st.lists(
    st.builds(StageResult, st.integers(0, 90).map(after), st.booleans()),
    min_size=1,
    max_size=6,
    unique_by=lambda r: r.day,
)


@given(results, st.integers(0, 30), st.randoms())
def test_the_order_of_telling_does_not_matter(found: list[StageResult], first: int, rng: object) -> None:
    shuffled = list(found)
    rng.shuffle(shuffled)  # type: ignore[attr-defined]
    assert disposition(plain(first), shuffled) == disposition(plain(first), found)


@given(results, st.integers(1, 30))
def test_only_a_pass_in_or_after_the_window_clears_a_miss(found: list[StageResult], first: int) -> None:
    """The cautious list, told in the plainest way: from the first miss on, only such a pass leads back."""
    stands = disposition(plain(first), found).status
    ordered = sorted(found, key=lambda r: r.day)
    open_since: date | None = None
    referred = False
    for result in ordered:
        if referred:
            continue
        if open_since is None:
            open_since = None if result.passed else result.day
        elif (result.day - open_since).days >= first:
            referred = not result.passed
            open_since = None
    expected = "referred" if referred else "rescreen" if open_since else "passed"
    assert stands == expected


@given(st.lists(st.booleans(), min_size=2, max_size=4), st.integers(1, 30))
def test_disagreeing_results_of_one_day_stay_on_the_list(passes: list[bool], first: int) -> None:
    """Invariant: two independent results that disagree leave the child on the more cautious list."""
    stands = disposition(plain(first), [StageResult(DAY, passed) for passed in passes])
    assert stands.status == ("passed" if all(passes) else "rescreen")


def test_a_referral_on_a_test_that_is_not_reliable_says_so(preset: Preset) -> None:
    """The retest must agree within 5 dB, else once more (ASHA 2005, from memory); else it is told."""
    levels = {"right": {1000: 55, 2000: 55, 4000: 55}, "left": {1000: 10, 2000: 10, 4000: 10}}
    rule = preset("illinois-675")
    sure = disposition(rule, [StageResult(DAY, False)], [ThresholdOutcome(DAY, levels)])
    unsure = disposition(rule, [StageResult(DAY, False)], [ThresholdOutcome(DAY, levels, (("right", 1000),))])
    assert unsure.status == sure.status and "Not reliable" not in sure.why
    assert unsure.why.endswith(
        "Not reliable: the tries at right 1000 Hz did not agree within 5 dB. The test should be repeated."
    )


def test_where_two_tests_refer_neither_is_silently_relied_upon(preset: Preset) -> None:
    """California counts two threshold tests (from memory): a first one that is not reliable is told at the second."""
    levels = {"right": {1000: 40, 2000: 10, 4000: 10}, "left": {1000: 10, 2000: 10, 4000: 10}}
    first, second = ThresholdOutcome(DAY, levels, (("right", 1000),)), ThresholdOutcome(after(14), levels)
    stands = disposition(preset("california-2951"), [StageResult(DAY, False)], [first, second])
    assert stands.status == "referred" and "Not reliable: the tries at right 1000 Hz" in stands.why
    superseded = disposition(preset("illinois-675"), [StageResult(DAY, False)], [first, second])
    assert "Not reliable" not in superseded.why
