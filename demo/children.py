"""Simulated children: what one hears, how well it attends, and the answers it gives along a tone walk.

A response follows a psychometric function: a logistic rise about the ear's threshold, with a guess rate
below and a lapse rate above. What the station does to the tone (a failing earphone, a noisy room) is a
``StationFault``. Rates and spreads are chosen for a lively demo: common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from random import Random

from demo.school import Pupil
from shared.hearing.protocol import Protocol
from shared.hearing.threshold import Result
from shared.hearing.threshold_plan import ThresholdPlan
from shared.hearing.tone_walk import Action, ToneWalk, WalkState

FREQUENCIES = (250, 500, 750, 1000, 1500, 2000, 3000, 4000, 6000, 8000)
EARS = ("right", "left")
Ears = Mapping[tuple[str, int], float]

SLOPE_DB = 2.0  # of the logistic rise: from 12 to 88 % within 8 dB
GUESSING = 0.01  # a response though nothing was heard, per presentation


@dataclass(frozen=True, slots=True)
class StationFault:
    """What stands between the dial and the ear: decibels lost by ear and frequency (0: sound)."""

    lost_db: Mapping[tuple[str, int], float] = field(default_factory=dict)

    def at(self, ear: str, hz: int) -> float:
        """Decibels lost in this earphone at this frequency."""
        return self.lost_db.get((ear, hz), 0.0)


SOUND_STATION = StationFault()


@dataclass(frozen=True, slots=True)
class Hearer:
    """One child's ears and attention.

    ``thresholds`` are true thresholds in dB HL by ear and frequency; ``lapses`` is the chance that a tone
    which was heard goes unanswered; ``slip_db`` is what ill-seated earphones take from one ear until they
    are reseated.
    """

    thresholds: Ears
    lapses: float
    slip: tuple[str, float] | None = None
    story: str = ""

    def responds(
        self, rng: Random, ear: str, hz: int, level: float, fault: StationFault = SOUND_STATION
    ) -> bool:
        """Whether one presentation is answered."""
        arriving = level - fault.at(ear, hz) - (self.slip[1] if self.slip and self.slip[0] == ear else 0.0)
        heard = 1.0 / (1.0 + math.exp(-(arriving - self.thresholds[ear, hz]) / SLOPE_DB))
        return rng.random() < GUESSING + (1.0 - GUESSING - self.lapses) * heard

    def reseated(self) -> Hearer:
        """The same child with the earphones put on properly."""
        return replace(self, slip=None)


def make_hearer(seed: int, pupil: Pupil) -> Hearer:
    """The ears of this pupil: mostly good, a few with a loss in one or both ears.

    Reproducible from the seed.
    """
    rng = Random(f"ears {seed} {pupil.number}")
    thresholds = {(ear, hz): rng.gauss(4.0, 4.0) for ear in EARS for hz in FREQUENCIES}
    story = ""
    draw = rng.random()
    if draw < 0.030:  # fluid behind the drum: a flat or low loss, mostly for some weeks
        story = "a cold this week"
        for ear in EARS if rng.random() < 0.5 else (rng.choice(EARS),):
            loss = rng.uniform(18, 35)
            for hz in FREQUENCIES:
                thresholds[ear, hz] += loss - (6 if hz >= 2000 else 0)
    elif draw < 0.040:  # the high tones of both ears
        story = "hears the high tones late"
        for ear in EARS:
            for hz in (hz for hz in FREQUENCIES if hz >= 3000):
                thresholds[ear, hz] += rng.uniform(25, 45)
    elif draw < 0.046:  # one ear, unnoticed until now
        story = "one ear only"
        ear = rng.choice(EARS)
        for hz in FREQUENCIES:
            thresholds[ear, hz] += rng.uniform(40, 65)
    elif draw < 0.052:
        story = "both ears, mild"
        for spot in thresholds:
            thresholds[spot] += rng.uniform(18, 30)
    lapses = min(0.2, rng.expovariate(1 / (0.10 if pupil.grade == "K" else 0.05)))
    slip = (rng.choice(EARS), rng.uniform(18, 40)) if rng.random() < 0.03 else None
    return Hearer(thresholds, lapses, slip, story)


def recovered(hearer: Hearer) -> Hearer:
    """The same child some weeks later, when a cold has gone."""
    if hearer.story != "a cold this week":
        return hearer
    return replace(
        hearer, thresholds={spot: min(level, 9.0) for spot, level in hearer.thresholds.items()}, story=""
    )


def walk_answers(
    hearer: Hearer,
    protocol: Protocol,
    rng: Random,
    *,
    grade: str = "",
    permitted: int = 20,
    fault: StationFault = SOUND_STATION,
) -> str:
    """The child's answers in the order of the protocol's walk, as a script line gives them.

    Each tone is given up to ``protocol.presentations`` times. Where the walk asks for it the earphones are
    reseated and the walk is done again, as a careful screener does.
    """
    walk = ToneWalk.begin(protocol, grade=grade, permitted=permitted)
    while walk.state is not WalkState.DONE:
        if walk.state is WalkState.RESEAT_DUE or walk.step is None:
            hearer = hearer.reseated()
            walk = walk.take(Action.RESEAT)
            continue
        step = walk.step
        heard = any(
            hearer.responds(rng, step.ear, step.hz, step.level_db_hl, fault)
            for _ in range(protocol.presentations)
        )
        walk = walk.take(Action.HEARD if heard else Action.NO_RESPONSE)
    return "".join(action.value for action in walk.actions)


def threshold_lines(
    hearer: Hearer, protocol: Protocol, rng: Random, fault: StationFault = SOUND_STATION
) -> list[tuple[str, int, str]]:
    """A threshold test as (ear, Hz, steps) in the protocol's order, retests and between-octaves included.

    A search that does not settle is begun once more, after the child was instructed again.
    """
    plan = ThresholdPlan.for_protocol(protocol)
    lines: list[tuple[str, int, str]] = []
    while (search := plan.search()) is not None:
        while (level := search.level) is not None:
            search = search.take(hearer.responds(rng, search.ear, search.hz, level, fault))
        if search.result is not Result.UNSETTLED:
            steps = " ".join(f"{p.level_db_hl}{'+' if p.heard else '-'}" for p in search.presentations)
            lines.append((search.ear, search.hz, steps))
        plan = plan.take(search)
    return lines
