"""The threshold search against worked staircases and the published rules' edges.

Outside: seven staircases worked by hand from the published rule (ASHA 2005 and ANSI S3.21-2004: down 10, up 5,
two answers on at least half of the ascending presentations; second-hand and from memory), and the extended
recheck of 25 TAC 37.24(h) (read at the state register's site; its upward step from memory).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.threshold import (
    BRACKETING,
    EXTENDED_RECHECK,
    LOUD,
    Result,
    SearchRefused,
    ThresholdSearch,
    parse_steps,
)

# (case, staircase, threshold or None for no response, (answered, given) of the ascending presentations there)
WORKED = [
    ("A", "30+ 20+ 10+ 0- 5+ -5- 0- 5+", 5, (2, 2)),
    ("B", "30+ 20+ 10- 15+ 5- 10- 15+", 15, (2, 2)),
    ("C", "30- 50+ 40+ 30- 35+ 25- 30- 35+", 35, (2, 2)),
    ("D", "30- 50+ 40+ 30- 35- 40+ 30- 35- 40+", 40, (2, 2)),
    ("E", "30+ 20+ 10+ 0+ -10- -5- 0+ -10- -5- 0+", 0, (2, 2)),
    ("F", "40+ 30+ 20- 25+ 15- 20+ 10- 15- 20+", 20, (2, 3)),
    ("G", "30- 50- 60- 70- 80- 90- 100-", None, (0, 0)),
]


@pytest.mark.parametrize(("case", "staircase", "threshold", "tally"), WORKED, ids=[w[0] for w in WORKED])
def test_worked_staircases_end_where_the_rule_says(
    case: str, staircase: str, threshold: int | None, tally: tuple[int, int]
) -> None:
    search = ThresholdSearch.begin("right", 1000)
    steps = parse_steps(staircase)
    for number, (level, heard) in enumerate(steps):
        assert search.result is Result.OPEN, "the staircase is longer than the rule needs"
        if not (case == "F" and number == 0):  # case F is worked from a start at 40
            assert search.level == level
        search = search.take(heard, level=level)
    assert search.threshold == threshold
    assert search.result is (Result.NO_RESPONSE if threshold is None else Result.FOUND)
    if threshold is not None:
        assert search.tally(threshold) == tally
    assert search.level is None


def test_answers_on_the_way_down_do_not_count() -> None:
    """Case D: 40 was answered three times, twice going up."""
    search = ThresholdSearch.replay("right", 1000, parse_steps(WORKED[3][1]))
    at_40 = [step for step in search.presentations if step.level_db_hl == 40]
    assert [step.heard for step in at_40] == [True, True, True]
    assert [step.counts for step in at_40] == [False, True, True]


# 25 TAC 37.24(h): 1000 Hz from 40; none: record ">40"; 40, 30, 20 in steps of 10; response at 20: record "20".
RECHECK = [
    ("40-", None, Result.NO_RESPONSE),
    ("40+ 30+ 20+", 20, Result.FOUND),
    ("40+ 30- 35+", 35, Result.FOUND),  # the step up of 5 is from memory, here and below
    ("40+ 30+ 20- 25+", 25, Result.FOUND),
    ("40+ 30- 35- 40+", 40, Result.FOUND),
    ("40+ 30- 35- 40-", None, Result.NO_RESPONSE),
]


@pytest.mark.parametrize(("staircase", "threshold", "result"), RECHECK)
def test_extended_recheck(staircase: str, threshold: int | None, result: Result) -> None:
    search = ThresholdSearch.begin("right", 1000, limit=40, procedure=EXTENDED_RECHECK)
    for level, heard in parse_steps(staircase):
        assert search.level == level
        search = search.take(heard)
    assert (search.threshold, search.result) == (threshold, result)


def test_no_response_at_a_limit_below_the_usual_one() -> None:
    search = ThresholdSearch.replay("left", 4000, parse_steps("30- 50- 60-"), limit=60)
    assert search.result is Result.NO_RESPONSE
    assert search.threshold is None


def test_two_misses_at_the_limit_going_up_are_no_response() -> None:
    search = ThresholdSearch.replay("left", 4000, parse_steps("30- 50+ 40- 45- 50- 50-"), limit=50)
    assert search.result is Result.NO_RESPONSE


def test_the_floor_is_a_threshold_like_any_other() -> None:
    search = ThresholdSearch.replay("left", 4000, parse_steps("30+ 20+ 10+ 0+ -10+ -10+ -10+"))
    assert search.threshold == -10


def test_loud_levels_are_warned_of_from_70_db_hl() -> None:
    """A working rule from memory: warn at 70 or more in a school."""
    search = ThresholdSearch.replay("right", 1000, parse_steps("30- 50-"))
    assert (search.level, search.loud) == (60, False)
    search = search.take(False)
    assert (search.level, search.loud) == (LOUD, True)


def test_a_child_without_a_steady_answer_ends_unsettled() -> None:
    patient = replace(BRACKETING, presentations=6)
    steps = parse_steps("30+ 20- 25- 30- 35+ 25-")
    search = ThresholdSearch.replay("right", 1000, steps, procedure=patient)
    assert (search.result, search.threshold, search.level) == (Result.UNSETTLED, None, None)


@pytest.mark.parametrize("level", [33, 105, -15, 200])
def test_a_level_that_cannot_be_given_is_refused(level: int) -> None:
    search = ThresholdSearch.begin("right", 1000)
    with pytest.raises(SearchRefused):
        search.take(True, level=level)


def test_nothing_is_taken_once_the_search_is_over() -> None:
    search = ThresholdSearch.replay("right", 1000, parse_steps(WORKED[0][1]))
    with pytest.raises(SearchRefused):
        search.take(True)


@pytest.mark.parametrize("text", ["30", "30 +", "x+", "30+20+", "30*"])
def test_steps_that_do_not_read_are_refused(text: str) -> None:
    with pytest.raises(SearchRefused):
        parse_steps(text)


@given(st.lists(st.booleans(), max_size=60))
def test_any_answers_end_and_replay(answers: list[bool]) -> None:
    search = ThresholdSearch.begin("left", 2000)
    for heard in answers:
        if search.level is None:
            break
        assert search.procedure.floor <= search.level <= search.limit
        following = search.take(heard)
        assert following.undo() == search
        search = following
    steps = [(step.level_db_hl, step.heard) for step in search.presentations]
    assert ThresholdSearch.replay("left", 2000, steps) == search
    assert len(steps) <= BRACKETING.presentations
    if search.threshold is not None:
        answered, given_ = search.tally(search.threshold)
        assert answered >= 2 and 2 * answered >= given_
