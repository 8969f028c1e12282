"""The station watch: exact run lengths, what is caught how soon, and what is named.

Outside: run lengths of a Bernoulli CUSUM by the Markov-chain method (Brook and Evans 1972; Reynolds and Stoumbos 1999;
both from memory). With whole-number scores the chain is finite, so the linear system gives them exactly; solved here
with numpy, checked by scipy's sparse solver, by the closed form of the simplest case, and by simulation. The dead
earphone, the drift and the clustering of misses are invented listeners.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shared.hearing.station_watch import (
    LEVEL,
    ROOM,
    TONE,
    Alarm,
    FirstWalk,
    StationWatch,
    Stream,
    Suspect,
)

np = pytest.importorskip("numpy")
sparse = pytest.importorskip("scipy.sparse")
linalg = pytest.importorskip("scipy.sparse.linalg")

TONES = tuple((ear, hz) for ear in ("right", "left") for hz in (1000, 2000, 4000))


# -- exact run lengths -------------------------------------------------------------------------------


def transition(p: float, stream: Stream, missed_before: bool = False) -> np.ndarray:
    """Scores 0 .. alarm-1, one child a step; what is missing to 1 has raised."""
    steps = stream.steps(missed_before)
    chain = np.zeros((stream.alarm, stream.alarm))
    for score in range(stream.alarm):
        chain[score, max(0, score - steps.down)] += 1 - p
        if score + steps.up < stream.alarm:
            chain[score, score + steps.up] += p
    return chain


def run_length(p: float, stream: Stream, missed_before: bool = False) -> float:
    """The mean number of children until the alarm, from a fresh start."""
    chain = transition(p, stream, missed_before)
    return float(np.linalg.solve(np.eye(stream.alarm) - chain, np.ones(stream.alarm))[0])


def survival(stream: Stream, children: int, missed_before: bool = False) -> np.ndarray:
    """The probability of no alarm yet after each child of an ordinary day."""
    p = stream.steps(missed_before).expected
    chain, state, left = transition(p, stream, missed_before), np.zeros(stream.alarm), np.empty(children)
    state[0] = 1.0
    for child in range(children):
        state = state @ chain
        left[child] = state.sum()
    return left


@pytest.mark.parametrize(
    ("stream", "p", "stated"),
    [
        (TONE, 0.05, 66_269),
        (ROOM, 0.02, 31_574),
        (LEVEL, 0.15, 56_144),
        (TONE, 0.07, 7_708),
        (TONE, 0.08, 3_374),
        (LEVEL, 0.2, 1_962),
        (TONE, 0.25, 37.0),
        (TONE, 0.5, 12.5),
        (TONE, 1.0, 5.0),
        (ROOM, 0.2, 26.8),
        (ROOM, 0.3, 14.4),
        (LEVEL, 0.4, 44.2),
        (LEVEL, 0.5, 27.6),
    ],
)
def test_run_lengths_are_what_the_module_states(stream: Stream, p: float, stated: float) -> None:
    mean = run_length(p, stream)
    assert mean == pytest.approx(stated, abs=0.5 if stated > 1000 else 0.05)
    chain = sparse.csc_matrix(np.eye(stream.alarm) - transition(p, stream))
    assert linalg.spsolve(chain, np.ones(stream.alarm))[0] == pytest.approx(mean, rel=1e-6)


@pytest.mark.parametrize(
    ("stream", "p", "stated"),
    [
        (TONE, 0.30, 20_900),
        (ROOM, 0.15, 12_559),
        (TONE, 1.0, 10.0),
        (TONE, 0.75, 19.0),
        (ROOM, 0.6, 14.4),
        (LEVEL, 0.8, 66.3),
        (LEVEL, 1.0, 28.0),
    ],
)
def test_run_lengths_of_a_rescreen_day_are_what_the_module_states(
    stream: Stream, p: float, stated: float
) -> None:
    assert run_length(p, stream, True) == pytest.approx(stated, abs=0.5 if stated > 1000 else 0.05)
    assert run_length(LEVEL.missed_before.expected, LEVEL, True) > 4_000_000


@pytest.mark.parametrize("stream", [TONE, ROOM, LEVEL])
@pytest.mark.parametrize("missed_before", [False, True])
def test_an_ordinary_child_lowers_every_score_on_average(stream: Stream, missed_before: bool) -> None:
    steps = stream.steps(missed_before)
    assert steps.expected * steps.up < (1 - steps.expected) * steps.down


@pytest.mark.parametrize("p", [0.05, 0.25, 0.9])
@pytest.mark.parametrize("run", [2, 3, 4])
def test_the_chain_against_a_closed_form(p: float, run: int) -> None:
    """Waiting for ``run`` misses in a row takes (1 - p^run) / ((1 - p) p^run): elementary probability.

    A stream that falls to 0 on any answer heard is just that; written as its own chain with the same solver.
    """
    chain = np.zeros((run, run))
    for score in range(run):
        chain[score, 0] += 1 - p
        if score + 1 < run:
            chain[score, score + 1] += p
    mean = np.linalg.solve(np.eye(run) - chain, np.ones(run))[0]
    assert mean == pytest.approx((1 - p**run) / ((1 - p) * p**run))


@pytest.mark.parametrize("missed_before", [False, True])
@pytest.mark.parametrize("frequencies", [3, 4, 5])
def test_all_streams_together_stay_quiet_for_2000_children(frequencies: int, missed_before: bool) -> None:
    """A bound that holds however one child's misses hang together.

    P(some stream has raised by child n) is at most the sum of the streams' own probabilities (union bound), and
    the mean run length is the sum of the probabilities of no alarm yet. Nobody rescreens so many.
    """
    children = 12_000
    raised = 2 * frequencies * (1 - survival(TONE, children, missed_before))
    raised += 1 - survival(ROOM, children, missed_before)
    raised += 1 - survival(LEVEL, children, missed_before)
    assert 1 + np.maximum(0, 1 - raised).sum() >= (900 if missed_before else 2000)


@pytest.mark.parametrize(("p", "stream"), [(0.25, TONE), (0.3, ROOM), (0.4, LEVEL)])
def test_run_lengths_against_simulation(p: float, stream: Stream) -> None:
    rng = np.random.default_rng(7)
    lengths = []
    for _ in range(2000):
        score, children = 0, 0
        while score < stream.alarm:
            children += 1
            score = score + stream.most.up if rng.random() < p else max(0, score - stream.most.down)
        lengths.append(children)
    error = np.std(lengths) / np.sqrt(len(lengths))
    assert np.mean(lengths) == pytest.approx(run_length(p, stream), abs=4 * error)


@given(st.lists(st.booleans(), max_size=80))
def test_the_watch_keeps_the_score_of_its_recursion(misses: list[bool]) -> None:
    watch = StationWatch.begin(TONES)
    score, raised = 0, False
    for number, missed in enumerate(misses):
        heard = dict.fromkeys(TONES, True) | {("left", 2000): not missed}
        watch = watch.take(FirstWalk(str(number), heard))
        score = score + TONE.most.up if missed else max(0, score - TONE.most.down)
        raised = raised or score >= TONE.alarm
        assert watch.score("left", 2000) == score
        if raised:
            assert watch.alarm is not None


# -- what is caught ----------------------------------------------------------------------------------

Fault = Callable[[tuple[str, int], random.Random], bool]


def child(number: int, rng: random.Random, fault: Fault | None) -> FirstWalk:
    """An invented child: one in twelve misses often, the others rarely; 5 % a tone, 15 % of children in all."""
    p = 0.45 if rng.random() < 1 / 12 else 0.0136
    heard = {tone: rng.random() >= p and not (fault is not None and fault(tone, rng)) for tone in TONES}
    return FirstWalk(f"child {number}", heard)


def day(seed: int, fault: Fault | None, since: int, children: int) -> tuple[int, Alarm | None]:
    """(number of the child at which the watch raised, the alarm)."""
    rng = random.Random(seed)
    watch = StationWatch.begin(TONES)
    for number in range(1, children + 1):
        watch = watch.take(child(number, rng, fault if number >= since else None))
        if watch.alarm is not None:
            return number, watch.alarm
    return children, None


def dead_left(tone: tuple[str, int], _: random.Random) -> bool:
    return tone[0] == "left"


def dead_left_4000(tone: tuple[str, int], _: random.Random) -> bool:
    return tone == ("left", 4000)


def weak_left_4000(tone: tuple[str, int], rng: random.Random) -> bool:
    return tone == ("left", 4000) and rng.random() < 0.25


def noisy_room(tone: tuple[str, int], rng: random.Random) -> bool:
    return tone[1] == 1000 and rng.random() < 0.5


def low_level(tone: tuple[str, int], rng: random.Random) -> bool:
    return rng.random() < 0.15


@pytest.mark.parametrize("fault", [dead_left, dead_left_4000])
@pytest.mark.parametrize("seed", range(40))
def test_a_dead_earphone_is_caught_within_five_children(fault: Fault, seed: int) -> None:
    """The 40th child is the first that it fails with, after 39 of an ordinary day."""
    number, alarm = day(seed, fault, since=40, children=60)
    assert alarm is not None
    assert number <= 44


@pytest.mark.parametrize(
    ("fault", "suspect", "ear", "hz", "words", "share"),
    [
        (dead_left, Suspect.EARPHONE, "left", None, "left earphone", 0.9),
        (dead_left_4000, Suspect.TONE, "left", 4000, "left, 4000 Hz", 0.9),
        (weak_left_4000, Suspect.TONE, "left", 4000, "left, 4000 Hz", 0.7),
        (noisy_room, Suspect.ROOM, "", 1000, "room", 0.6),
        (low_level, Suspect.LEVEL, "", None, "level", 0.6),
    ],
)
def test_the_fault_is_named(
    fault: Fault, suspect: Suspect, ear: str, hz: int | None, words: str, share: float
) -> None:
    alarms = [day(seed, fault, since=40, children=400) for seed in range(60)]
    caught = [alarm for number, alarm in alarms if alarm is not None and number >= 40]
    assert len(caught) >= 55
    named = Counter((alarm.suspect, alarm.ear, alarm.hz) for alarm in caught)
    assert named[(suspect, ear, hz)] >= share * len(caught), named
    right = next(alarm for alarm in caught if alarm.suspect is suspect)
    assert words in right.words()


def test_the_children_since_the_change_are_named() -> None:
    hits = 0
    for seed in range(40):
        number, alarm = day(seed, dead_left, since=40, children=60)
        assert alarm is not None
        last = int(alarm.children[-1].split()[1])
        assert last == number
        assert set(alarm.missed) <= set(alarm.children)
        hits += alarm.since == "child 40"
    assert hits >= 36


def test_all_since_the_change_are_named_with_those_who_missed() -> None:
    watch = StationWatch.begin(TONES)
    deaf_left = {tone: tone[0] == "right" for tone in TONES}
    for number in range(1, 40):
        watch = watch.take(FirstWalk(f"child {number}", dict.fromkeys(TONES, True)))
    for number in range(40, 45):
        assert watch.alarm is None
        watch = watch.take(FirstWalk(f"child {number}", deaf_left))
    assert watch.alarm is not None
    expected = tuple(f"child {number}" for number in range(40, 45))
    assert (watch.alarm.children, watch.alarm.missed, watch.alarm.since) == (expected, expected, "child 40")


def test_an_alarm_stands_until_the_watch_begins_anew() -> None:
    watch = StationWatch.begin(TONES)
    for number in range(5):
        watch = watch.take(FirstWalk(f"a{number}", {tone: tone[0] == "right" for tone in TONES}))
    first = watch.alarm
    assert first is not None
    for number in range(50):
        watch = watch.take(FirstWalk(f"b{number}", dict.fromkeys(TONES, True)))
    assert watch.alarm == first
    assert StationWatch.begin(TONES).alarm is None


def test_a_broken_off_walk_counts_only_the_tones_it_had() -> None:
    watch = StationWatch.begin(TONES).take(FirstWalk("a", {("right", 1000): False}))
    assert watch.score("right", 1000) == TONE.most.up
    assert watch.score("right", 2000) == 0


def test_ordinary_days_are_quiet() -> None:
    """24 days of 200 children: at 2,000 children apart or more, 2.4 false alarms at most on average; a Poisson
    count of that mean exceeds 7 in less than one draw of 250 (scipy)."""
    stats = pytest.importorskip("scipy.stats")
    alarms = sum(day(seed, None, since=1, children=200)[1] is not None for seed in range(1000, 1024))
    assert stats.poisson.sf(7, 2.4) < 1 / 250
    assert alarms <= 7


def rescreened(number: int, rng: random.Random, fault: Fault | None = None) -> FirstWalk:
    """An invented child who missed before: half of them miss again, most of those in both ears."""
    deaf = {"right", "left"} if rng.random() < 0.6 else {rng.choice(("right", "left"))}
    sick = rng.random() < 0.5
    heard = {
        tone: not (sick and tone[0] in deaf and rng.random() < 0.7) and not (fault and fault(tone, rng))
        for tone in TONES
    }
    return FirstWalk(f"child {number}", heard, missed_before=True)


def rescreen_day(seed: int, fault: Fault | None, children: int) -> tuple[int, Alarm | None]:
    rng, watch = random.Random(seed), StationWatch.begin(TONES)
    for number in range(1, children + 1):
        watch = watch.take(rescreened(number, rng, fault))
        if watch.alarm is not None:
            return number, watch.alarm
    return children, None


def test_a_rescreen_day_is_quiet_though_half_of_its_children_miss() -> None:
    assert sum(rescreen_day(seed, None, 60)[1] is not None for seed in range(40)) <= 2

    def taken_for_others(seed: int) -> Alarm | None:
        rng, watch = random.Random(seed), StationWatch.begin(TONES)
        for number in range(60):
            walk = rescreened(number, rng)
            watch = watch.take(FirstWalk(walk.child, walk.heard))
        return watch.alarm

    assert sum(taken_for_others(seed) is not None for seed in range(40)) >= 30


@pytest.mark.parametrize("seed", range(20))
def test_a_dead_earphone_is_caught_on_a_rescreen_day_too(seed: int) -> None:
    number, alarm = rescreen_day(seed, dead_left, 60)
    assert alarm is not None and number <= 20
    assert alarm.ear == "left"


def test_more_misses_never_raise_later() -> None:
    """The watch is monotone: turning answers into misses raises no later."""
    for seed in range(10):
        numbers = [
            day(seed, lambda tone, rng, p=p: tone == ("left", 4000) and rng.random() < p, 1, 300)[0]  # type: ignore[misc]
            for p in (0.0, 1.0)
        ]
        assert all(later <= earlier for earlier, later in pairwise(numbers))
