"""The simulated children: their answers follow their ears, and fit the walk that they are given for."""

from __future__ import annotations

import math
from random import Random

import pytest

from demo.children import (
    EARS,
    FREQUENCIES,
    GUESSING,
    SLOPE_DB,
    Hearer,
    StationFault,
    make_hearer,
    walk_answers,
)
from demo.recount import passed
from demo.school import make_school
from fieldapp.services.presets import load_protocol
from shared.hearing.protocol import Protocol
from shared.hearing.tone_walk import Action, ToneWalk, WalkState


@pytest.fixture(scope="module")
def protocol() -> Protocol:
    return load_protocol("aaa-2011")


def hearer(threshold: float, *, lapses: float = 0.0, slip: tuple[str, float] | None = None) -> Hearer:
    return Hearer({(ear, hz): threshold for ear in EARS for hz in FREQUENCIES}, lapses, slip)


@pytest.mark.parametrize("distance", [-6, -2, 0, 2, 6])
def test_responses_follow_the_psychometric_function(distance: int) -> None:
    """The textbook logistic with guess and lapse rate, worked out here; five standard errors allowed."""
    lapses, draws = 0.05, 20_000
    child, rng = hearer(30.0, lapses=lapses), Random(1)
    heard = sum(child.responds(rng, "right", 1000, 30 + distance) for _ in range(draws)) / draws
    expected = GUESSING + (1 - GUESSING - lapses) / (1 + math.exp(-distance / SLOPE_DB))
    assert abs(heard - expected) < 5 * math.sqrt(expected * (1 - expected) / draws)


@pytest.mark.parametrize(
    "name", ["aaa-2011", "texas-37-24", "california-2951", "minnesota", "connecticut-10-214"]
)
def test_answers_fit_any_protocol(name: str) -> None:
    """Every answers string replays to a finished walk, whatever the protocol."""
    protocol, rng = load_protocol(name), Random(2)
    for threshold in (0.0, 18.0, 22.0, 60.0):
        answers = walk_answers(hearer(threshold, lapses=0.1), protocol, rng, grade="3")
        walk = ToneWalk.replay(protocol, [Action(sign) for sign in answers], grade="3")
        assert walk.state is WalkState.DONE


def test_good_ears_pass_and_deaf_ears_do_not(protocol: Protocol) -> None:
    rng = Random(3)
    assert walk_answers(hearer(2.0), protocol, rng) == "++++++"
    assert not passed(walk_answers(hearer(70.0), protocol, rng))


def test_slipped_earphones_are_put_right_by_reseating(protocol: Protocol) -> None:
    answers = walk_answers(hearer(2.0, slip=("left", 40.0)), protocol, Random(4))
    assert answers == "+++---/++++++"


def test_failing_earphone_takes_the_level_away(protocol: Protocol) -> None:
    fault = StationFault({("left", hz): 60.0 for hz in FREQUENCIES})
    answers = walk_answers(hearer(2.0), protocol, Random(5), fault=fault)
    assert answers[:3] == answers[7:10] == "+++"
    assert (answers[3:6] + answers[10:]).count("-") >= 5, "a guess now and then"


def test_recount_agrees_with_the_walk(protocol: Protocol) -> None:
    """The recount's own rule (a miss in the last time through fails) against the walk's."""
    rng = Random(6)
    for _ in range(500):
        answers = walk_answers(hearer(rng.uniform(0, 40), lapses=0.2), protocol, rng)
        walk = ToneWalk.replay(protocol, [Action(sign) for sign in answers])
        assert walk.passed is passed(answers)


def test_most_children_hear_well(protocol: Protocol) -> None:
    """Between 2 and 9 % of a school fail after the retest (common practice, no source)."""
    pupils = make_school(9, size=1_000).pupils
    failed = sum(
        not passed(walk_answers(make_hearer(9, pupil), protocol, Random(pupil.number), grade=pupil.grade))
        for pupil in pupils
    )
    assert 20 <= failed <= 90
