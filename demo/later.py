"""The days after the first: rescreening three weeks later, and threshold tests for those who miss again.

Who is due comes from the recount of the days before; how it goes follows from the same children's ears.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from random import Random

from demo.children import Hearer, make_hearer, recovered
from demo.day import zone_of
from demo.school import GRADES, Pupil
from demo.script import TabletScript
from shared.hearing.protocol import Protocol

# Who is asked for on the rescreening day.
RESCREENED = ("rescreen", "absent", "not-seen", "could-not-test")
_STAYS_AWAY, _COLD_GONE, _STILL_CANNOT = 0.06, 0.6, 0.4


def ears_later(seed: int, pupil: Pupil) -> Hearer:
    """The child's ears three weeks on: most colds are gone, and the earphones sit."""
    hearer = make_hearer(seed, pupil).reseated()
    return recovered(hearer) if Random(f"later {seed} {pupil.number}").random() < _COLD_GONE else hearer


def rescreen_day(
    day: date,
    pupils: Mapping[str, Pupil],
    statuses: Mapping[str, str],
    protocol: Protocol,
    seed: int,
    screeners: Sequence[str] = ("MK", "SAB"),
) -> list[TabletScript]:
    """Two tablets, the younger and the older grades; ``pupils`` and ``statuses`` by student number."""
    young = _station("R1", screeners[0], day, protocol, seed)
    old = _station("R2", screeners[1], day, protocol, seed)
    for number, pupil in _in_class_order(pupils, lambda number: statuses.get(number) in RESCREENED):
        tablet = young if GRADES.index(pupil.grade) <= 2 else old
        if tablet.rng.random() < _STAYS_AWAY:
            tablet.not_tested("absent", number)
        elif statuses[number] == "could-not-test" and tablet.rng.random() < _STILL_CANNOT:
            tablet.not_tested("could-not-test", number, "tried again, did not answer")
        else:
            tablet.screen(number, ears_later(seed, pupil), pupil.grade)
    return [young, old]


def threshold_day(
    day: date, pupils: Mapping[str, Pupil], statuses: Mapping[str, str], protocol: Protocol, seed: int
) -> list[TabletScript]:
    """One tablet, one audiometrist: a threshold test for every child that missed at the rescreen."""
    tablet = _station("T1", "AUD", day, protocol, seed)
    for number, pupil in _in_class_order(pupils, lambda number: statuses.get(number) == "threshold"):
        tablet.threshold(number, ears_later(seed, pupil))
        tablet.pause(2)
    return [tablet]


def _station(name: str, screener: str, day: date, protocol: Protocol, seed: int) -> TabletScript:
    tablet = TabletScript(
        tablet=name,
        clock=datetime(day.year, day.month, day.day, 8, 20, tzinfo=zone_of(day)),
        protocol=protocol,
        rng=Random(f"tablet {seed} {name} {day}"),
        audiometer=f"AM-1{name[-1]}",
        earphones=f"EP-1{name[-1]}",
        calibrated=date(2026, 8, 24),
    )
    tablet.sign_in(screener)
    tablet.ready()
    return tablet


def _in_class_order(pupils: Mapping[str, Pupil], due: Callable[[str], bool]) -> list[tuple[str, Pupil]]:
    found = [(number, pupil) for number, pupil in pupils.items() if due(number)]
    return sorted(found, key=lambda each: (GRADES.index(each[1].grade), each[1].class_name, each[0]))
