"""The referral engine at its edges.

Outside: California's lines (30 dB or beyond at two or more frequencies of one ear, or 40 or beyond at any one, on
two threshold tests at least two weeks apart) are from weak memory, 17 CCR 2951 (b) to (f) was not read; the edges
are arithmetic on those figures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.protocol import Protocol
from shared.hearing.referral import ReferralRule, Ruling, ThresholdOutcome, not_reliable

Preset = Callable[[str], Protocol]
DAY = date(2026, 9, 1)
GOOD = {1000: 10, 2000: 10, 4000: 10}

CALIFORNIA = [
    ({}, False),
    ({1000: 25, 2000: 25, 4000: 25}, False),
    ({1000: 30}, False),
    ({1000: 30, 2000: 25}, False),
    ({1000: 30, 2000: 30}, True),
    ({1000: 30, 4000: 30}, True),
    ({4000: 35}, False),
    ({4000: 40}, True),
    ({4000: None}, True),
]


def rule(preset: Preset, name: str = "california-2951") -> ReferralRule:
    found = preset(name).referral
    assert found is not None
    return found


@pytest.mark.parametrize(("raised", "met"), CALIFORNIA)
def test_one_test_meets_the_lines(preset: Preset, raised: dict[int, int | None], met: bool) -> None:
    assert bool(rule(preset).met_by({"right": GOOD | raised, "left": GOOD})) is met
    assert bool(rule(preset).met_by({"left": GOOD | raised, "right": GOOD})) is met


def test_two_frequencies_must_be_of_one_ear(preset: Preset) -> None:
    assert not rule(preset).met_by({"right": GOOD | {1000: 30}, "left": GOOD | {2000: 30}})


def on(day: int, **raised: int | None) -> ThresholdOutcome:
    return ThresholdOutcome(
        DAY + timedelta(days=day),
        {"right": GOOD | {int(hz[2:]): v for hz, v in raised.items()}, "left": GOOD},
    )


@pytest.mark.parametrize(
    ("apart", "ruling"),
    [(0, Ruling.REPEAT), (13, Ruling.REPEAT), (14, Ruling.REFER), (15, Ruling.REFER), (90, Ruling.REFER)],
)
def test_the_second_test_counts_from_the_fourteenth_day(preset: Preset, apart: int, ruling: Ruling) -> None:
    verdict = rule(preset).judge([on(0, hz4000=40), on(apart, hz4000=40)])
    assert verdict.ruling is ruling
    if ruling is Ruling.REPEAT:
        assert verdict.repeat_from == DAY + timedelta(days=14)


def test_one_test_alone_asks_for_the_second(preset: Preset) -> None:
    verdict = rule(preset).judge([on(0, hz1000=30, hz2000=30)])
    assert verdict.ruling is Ruling.REPEAT
    assert verdict.repeat_from == date(2026, 9, 15)
    assert verdict.why == ("right ear on or beyond the line at 1000, 2000 Hz",)


def test_a_second_test_that_meets_nothing_clears(preset: Preset) -> None:
    assert rule(preset).judge([on(0, hz4000=40), on(20)]).ruling is Ruling.CLEAR


def test_a_second_test_too_soon_neither_counts_nor_clears(preset: Preset) -> None:
    assert rule(preset).judge([on(0, hz4000=40), on(5)]).ruling is Ruling.REPEAT
    assert rule(preset).judge([on(0, hz4000=40), on(5), on(14, hz4000=45)]).ruling is Ruling.REFER


def test_a_test_with_tones_missing_proves_nothing(preset: Preset) -> None:
    part = ThresholdOutcome(DAY, {"right": {1000: 20}})
    verdict = rule(preset).judge([part])
    assert verdict.ruling is Ruling.INCOMPLETE
    assert verdict.why == ("right ear 2000, 4000 Hz", "left ear 1000, 2000, 4000 Hz")


def test_tests_of_one_day_count_as_one_the_worse_level_stands(preset: Preset) -> None:
    pieces = [
        ThresholdOutcome(DAY, {"right": {1000: 30}}),
        ThresholdOutcome(DAY, {"right": {2000: 30, 1000: 10}}),
        ThresholdOutcome(DAY, {"right": {4000: 10}, "left": GOOD}),
    ]
    assert rule(preset).judge(pieces).ruling is Ruling.REPEAT
    silent = [ThresholdOutcome(DAY, {"left": {4000: None}}), ThresholdOutcome(DAY, {"left": {4000: 20}})]
    assert rule(preset, "texas-37-24").judge(silent).ruling is Ruling.REFER


def test_what_can_be_relied_upon_replaces_what_could_not_on_the_same_day_only(preset: Preset) -> None:
    """A child whose tries disagree is instructed anew and tested again (ASHA 2005, from memory)."""
    doubtful = ThresholdOutcome(DAY, {"right": {**GOOD, 1000: 45}, "left": GOOD}, (("right", 1000),))
    again = ThresholdOutcome(DAY, {"right": {1000: 15}})
    texas = rule(preset, "texas-37-24")
    assert texas.judge([doubtful]).ruling is Ruling.REFER
    assert texas.judge([doubtful, again]).ruling is texas.judge([again, doubtful]).ruling is Ruling.CLEAR
    assert not_reliable([doubtful]) == (("right", 1000),) and not_reliable([doubtful, again]) == ()
    # Neither another day, nor tries that disagree once more, nor an agreeing better one before a worse, takes it off.
    later = replace(again, day=DAY + timedelta(days=1))
    unsure = replace(again, disagreed=(("right", 1000),))
    worse = ThresholdOutcome(DAY, {"right": {1000: 45}})
    for other in (later, unsure, worse):
        assert (
            texas.judge([doubtful, again, worse] if other is worse else [doubtful, other]).ruling
            is Ruling.REFER
        )
    assert not_reliable([doubtful, later]) == not_reliable([doubtful, unsure]) == (("right", 1000),)


def test_no_test_at_all(preset: Preset) -> None:
    assert rule(preset).judge([]).ruling is Ruling.UNTESTED


levels = st.dictionaries(
    st.sampled_from([1000, 2000, 4000]), st.one_of(st.none(), st.integers(-2, 20).map(lambda n: 5 * n))
)
outcomes = st.lists(
    st.builds(
        ThresholdOutcome,
        st.integers(0, 60).map(lambda days: DAY + timedelta(days=days)),
        st.fixed_dictionaries({"right": levels, "left": levels}),
    ),
    max_size=5,
)
CALIFORNIA_RULE = ReferralRule({1000: 30, 2000: 30, 4000: 30}, 2, (1000, 2000, 4000), (), 40, 2, 14)


@given(outcomes, st.randoms())
def test_the_order_of_telling_does_not_matter(found: list[ThresholdOutcome], rng: object) -> None:
    shuffled = list(found)
    rng.shuffle(shuffled)  # type: ignore[attr-defined]
    assert CALIFORNIA_RULE.judge(shuffled) == CALIFORNIA_RULE.judge(found)


@given(outcomes)
def test_hearing_less_never_takes_a_referral_back(found: list[ThresholdOutcome]) -> None:
    if CALIFORNIA_RULE.judge(found).ruling is not Ruling.REFER:
        return
    worse = [
        ThresholdOutcome(
            one.day,
            {
                ear: {hz: None if level is None else level + 5 for hz, level in of_ear.items()}
                for ear, of_ear in one.thresholds.items()
            },
        )
        for one in found
    ]
    assert CALIFORNIA_RULE.judge(worse).ruling is Ruling.REFER
