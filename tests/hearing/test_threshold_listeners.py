"""10,000 simulated listeners against exact arithmetic of the search, computed here without the app's code.

Outside: the up-down rule as published (ASHA 2005 and ANSI S3.21-2004, second-hand and from memory: down 10
after a response, up 5 after none, two answers on at least half of the ascending presentations) is written out
once more below as a Markov chain over (level, direction, tallies). Histories below 1e-7 are cut; what is lost by
that is added up and bounded. Listeners answer by a logistic psychometric function with guesses and lapses. The
comparison is Pearson's chi-square (scipy).
"""

from __future__ import annotations

import math
import random
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import cache

import pytest

from shared.hearing.threshold import Result, ThresholdSearch

stats = pytest.importorskip("scipy.stats")

LIMIT, FLOOR, START, SECOND = 100, -10, 30, 50
PRESENTATIONS = 40
NEGLIGIBLE = 1e-7  # a history that unlikely is not followed further
LOST = 1.5e-3  # the most that may be lost by that, all histories together


@dataclass(frozen=True)
class Listener:
    """A logistic psychometric function: half of the tones at ``midpoint`` dB HL, ``spread`` dB a logit."""

    midpoint: float
    spread: float
    guess: float = 0.0
    lapse: float = 0.0

    def hears(self, level: int) -> float:
        sigmoid = 1 / (1 + math.exp(-(level - self.midpoint) / self.spread))
        return self.guess + (1 - self.guess - self.lapse) * sigmoid


@cache
def exact(listener: Listener) -> dict[int | str, float]:
    """The probability of every outcome: a threshold, "NR" or "unsettled"."""
    ends: defaultdict[int | str, float] = defaultdict(float)
    # Before the first answer: a fixed ladder of levels, 30, 50, then up by 10 to the limit.
    ladder = [START, SECOND, *range(SECOND + 10, LIMIT + 1, 10)]
    silent = 1.0
    # state: (level to give, came down to it, tallies ((level, answered, given), ...)) -> probability, by trial
    states: defaultdict[int, defaultdict[tuple, float]] = defaultdict(lambda: defaultdict(float))
    for trial, level in enumerate(ladder, start=1):
        first = silent * listener.hears(level)
        states[trial][(max(level - 10, FLOOR), level - 10 >= FLOOR, ())] += first
        silent -= first
    ends["NR"] += silent
    for trial in range(1, PRESENTATIONS):
        for (level, came_down, tallies), p in states.pop(trial, {}).items():
            if p < NEGLIGIBLE:
                continue
            for heard, q in ((True, listener.hears(level)), (False, 1 - listener.hears(level))):
                counted = {lv: (a, g) for lv, a, g in tallies}
                if not heard or not came_down:
                    answered, given = counted.get(level, (0, 0))
                    counted[level] = (answered + heard, given + 1)
                done = [lv for lv, (a, g) in counted.items() if a >= 2 and a / g >= 0.5]
                if done:
                    ends[min(done)] += p * q
                    continue
                answered, given = counted.get(LIMIT, (0, 0))
                if level == LIMIT and not heard and given - answered >= 2:
                    ends["NR"] += p * q
                    continue
                following = max(level - 10, FLOOR) if heard else min(level + 5, LIMIT)
                key = (following, following < level, tuple(sorted((lv, *c) for lv, c in counted.items())))
                states[trial + 1][key] += p * q
    ends["unsettled"] += sum(states[PRESENTATIONS].values())
    return dict(ends)


def simulate(listener: Listener, rng: random.Random) -> int | str:
    search = ThresholdSearch.begin("right", 1000, limit=LIMIT)
    while (level := search.level) is not None:
        search = search.take(rng.random() < listener.hears(level))
    if search.result is Result.FOUND:
        assert search.threshold is not None
        return search.threshold
    return "NR" if search.result is Result.NO_RESPONSE else "unsettled"


# Ten kinds of listener, 1,000 of each: sharp and vague, on and off the 5 dB grid, guessing and inattentive,
# near the floor and near the limit.
LISTENERS = [
    Listener(2.5, 1.0),
    Listener(10.0, 2.0),
    Listener(17.0, 2.0),
    Listener(25.0, 3.0),
    Listener(33.0, 1.5, guess=0.02, lapse=0.02),
    Listener(40.0, 3.0, guess=0.05),
    Listener(47.5, 2.0, lapse=0.05),
    Listener(60.0, 2.0),
    Listener(-9.0, 2.0),
    Listener(98.0, 2.0),
]
EACH = 1000


@pytest.mark.parametrize("listener", LISTENERS, ids=str)
def test_simulated_listeners_follow_the_exact_chain(listener: Listener) -> None:
    chain = exact(listener)
    rng = random.Random(f"threshold listeners {listener}")
    found = Counter(simulate(listener, rng) for _ in range(EACH))
    assert sum(count for end, count in found.items() if end not in chain) <= EACH * LOST
    # Pool what is expected fewer than five times, as Pearson's test asks.
    often = [end for end, p in chain.items() if p * EACH >= 5]
    expected = [chain[end] * EACH for end in often]
    observed = [found[end] for end in often]
    if EACH - sum(expected) > EACH * 2 * LOST:
        expected.append(EACH - sum(expected))
        observed.append(EACH - sum(observed))
    scale = sum(observed) / sum(expected)
    assert scale > 0.98
    assert stats.chisquare(observed, [each * scale for each in expected]).pvalue > 1e-4
    levels = [end for end in found.elements() if isinstance(end, int)]
    bias, spread = bias_and_spread(listener)
    mean = sum(levels) / len(levels)
    assert mean - listener.midpoint == pytest.approx(bias, abs=4 * spread / math.sqrt(len(levels)) + 0.05)


def bias_and_spread(listener: Listener) -> tuple[float, float]:
    """Mean and standard deviation, dB, of found threshold minus the 50 % point, by the exact chain."""
    levels = {end: p for end, p in exact(listener).items() if isinstance(end, int)}
    total = sum(levels.values())
    mean = sum(level * p for level, p in levels.items()) / total
    square = sum((level - mean) ** 2 * p for level, p in levels.items()) / total
    return mean - listener.midpoint, math.sqrt(square)


@pytest.mark.parametrize("listener", LISTENERS, ids=str)
def test_little_of_the_chain_is_cut(listener: Listener) -> None:
    assert 1 - LOST < sum(exact(listener).values()) <= 1 + 1e-12


@pytest.mark.parametrize("spread", [0.5, 1.0, 2.0, 3.0])
def test_bias_and_spread_stay_within_what_the_module_states(spread: float) -> None:
    """As ``shared/hearing/threshold.py`` states: 5 dB steps find the next level up, so half a step of bias."""
    reports = [bias_and_spread(Listener(20 + offset, spread)) for offset in (0.0, 1.0, 2.0, 3.0, 4.0)]
    biases = [bias for bias, _ in reports]
    assert 2.2 < sum(biases) / len(biases) < 2.9
    assert all(0.0 <= bias <= 5.0 for bias in biases)
    assert all(deviation < 3.3 for _, deviation in reports)


@pytest.mark.parametrize("midpoint", [-4.0, 12.5, 31.0, 58.0])
def test_a_listener_without_doubt_gets_the_next_level_up(midpoint: float) -> None:
    """Arithmetic: whoever hears exactly from the midpoint on has the lowest grid level at or above it."""
    search = ThresholdSearch.begin("left", 2000, limit=LIMIT)
    while (level := search.level) is not None:
        search = search.take(level >= midpoint)
    assert search.threshold == math.ceil(midpoint / 5) * 5
