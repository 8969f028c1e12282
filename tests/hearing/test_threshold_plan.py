"""The order of a threshold test.

Outside: ASHA 2005 (order, retest within 5 dB, the better kept: from memory); ANSI S3.21-2004, abstract (read):
between-octaves where neighbouring octaves differ by 20 dB or more.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

import pytest

from shared.errors import Refused
from shared.hearing.protocol import Protocol
from shared.hearing.threshold import ThresholdSearch
from shared.hearing.threshold_plan import Purpose, ThresholdPlan, Tone

Preset = Callable[[str], Protocol]


def answering(search: ThresholdSearch, threshold: int | None) -> ThresholdSearch:
    """A listener who hears from ``threshold`` on, or never."""
    while (level := search.level) is not None:
        search = search.take(threshold is not None and level >= threshold)
    return search


def walk_plan(plan: ThresholdPlan, hearing: Callable[[Tone, int], int | None]) -> list[Tone]:
    order: list[Tone] = []
    while (tone := plan.next) is not None:
        search = plan.search()
        assert search is not None
        order.append(tone)
        plan = plan.take(answering(search, hearing(tone, len(order))))
        assert len(order) < 40
    return order


def full_protocol(preset: Preset) -> Protocol:
    frequencies = [1000, 2000, 3000, 4000, 6000, 8000, 500, 250]
    return preset("illinois-675").copied("full", threshold_frequencies=frequencies)


def test_right_ear_first_upwards_retest_then_downwards(preset: Preset) -> None:
    plan = ThresholdPlan.for_protocol(full_protocol(preset))
    order = walk_plan(plan, lambda tone, _: 10)
    right = [(tone.hz, tone.purpose.value) for tone in order if tone.ear == "right"]
    assert [hz for hz, _ in right] == [1000, 2000, 3000, 4000, 6000, 8000, 1000, 500, 250]
    assert right[6] == (1000, "retest")
    assert {tone.ear for tone in order[:9]} == {"right"}
    assert {tone.ear for tone in order[9:]} == {"left"}
    assert [tone.hz for tone in order[9:]] == [1000, 2000, 3000, 4000, 6000, 8000, 500, 250]


def test_the_better_ear_first_where_it_is_known(preset: Preset) -> None:
    plan = ThresholdPlan.for_protocol(preset("aaa-2011"), first_ear="left")
    order = walk_plan(plan, lambda tone, _: 10)
    assert order[0] == Tone("left", 1000, Purpose.ROUTINE)


@pytest.mark.parametrize(
    ("first", "second", "third", "redone", "stands", "reliable"),
    [
        (15, 15, None, False, 15, True),
        (15, 20, None, False, 15, True),  # 5 apart agree, the better stands
        (20, 15, None, False, 15, True),
        (15, 25, 20, True, 15, True),  # 10 apart: once more
        (15, 25, 25, True, 25, True),
        (10, 30, 50, True, 50, False),  # no two agree: the worst stands, marked
    ],
)
def test_retest_at_1000_agrees_within_5_db(
    preset: Preset, first: int, second: int, third: int | None, redone: bool, stands: int, reliable: bool
) -> None:
    tries = iter((first, second, third))
    plan = ThresholdPlan.for_protocol(preset("aaa-2011"))
    purposes = []
    while (tone := plan.next) is not None:
        search = plan.search()
        assert search is not None
        purposes.append(tone.purpose)
        at_1000 = tone.ear == "right" and tone.hz == 1000
        plan = plan.take(answering(search, next(tries) if at_1000 else stands))
    assert (Purpose.REDO in purposes) is redone
    assert plan.thresholds()["right"][1000].threshold_db_hl == stands
    assert (not plan.disagreed) is reliable


@pytest.mark.parametrize(
    ("at_1000", "at_2000", "asked"), [(10, 25, False), (10, 30, True), (40, 20, True), (10, None, True)]
)
def test_between_octaves_where_neighbours_differ_by_20(
    preset: Preset, at_1000: int, at_2000: int | None, asked: bool
) -> None:
    plan = ThresholdPlan.for_protocol(preset("california-2951"))
    hearing = {1000: at_1000, 2000: at_2000, 4000: at_2000, 1500: 20}
    order = walk_plan(plan, lambda tone, _: hearing[tone.hz])
    assert (Tone("right", 1500, Purpose.BETWEEN_OCTAVES) in order) is asked


def test_no_response_both_sides_asks_for_nothing_between(preset: Preset) -> None:
    plan = ThresholdPlan.for_protocol(preset("california-2951"))
    order = walk_plan(plan, lambda tone, _: None)
    assert all(tone.purpose is not Purpose.BETWEEN_OCTAVES for tone in order)


def test_texas_recheck_is_three_tones_an_ear_right_first(preset: Preset) -> None:
    """25 TAC 37.24(h), read: 1000 Hz first, right ear first."""
    plan = ThresholdPlan.for_protocol(preset("texas-37-24"))
    order = walk_plan(plan, lambda tone, _: 20)
    assert [(tone.ear, tone.hz) for tone in order] == [
        (ear, hz) for ear in ("right", "left") for hz in (1000, 2000, 4000)
    ]


def test_outcome_for_the_referral_rule_keeps_no_response_apart(preset: Preset) -> None:
    plan = ThresholdPlan.for_protocol(preset("texas-37-24"))
    while (tone := plan.next) is not None:
        search = plan.search()
        assert search is not None
        plan = plan.take(answering(search, None if tone.hz == 4000 else 20))
    outcome = plan.outcome(date(2026, 10, 1))
    assert outcome.thresholds == {
        "right": {1000: 20, 2000: 20, 4000: None},
        "left": {1000: 20, 2000: 20, 4000: None},
    }


def test_an_open_search_is_not_taken(preset: Preset) -> None:
    plan = ThresholdPlan.for_protocol(preset("aaa-2011"))
    search = plan.search()
    assert search is not None
    with pytest.raises(Refused):
        plan.take(search)
