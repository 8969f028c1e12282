"""The days after the first: rescreening three weeks later, and threshold tests for those who miss again.

Who is due comes from the recount of the days before; how it goes follows from the same children's ears.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, timedelta
from random import Random

from demo.children import Hearer, make_hearer, recovered
from demo.day import zone_of
from demo.school import GRADES, Pupil
from demo.script import TabletScript
from shared.hearing.protocol import Protocol

# Who is asked for on the rescreening day.
RESCREENED = ("rescreen", "absent", "not-seen", "could-not-test")
_STAYS_AWAY, _STILL_CANNOT = 0.06, 0.4
# The share of colds that are gone by the rescreening and, a week later, by the threshold tests.
_GONE_BY_RESCREEN, _GONE_BY_TEST = 0.5, 0.8


def ears_later(seed: int, pupil: Pupil, colds_gone: float) -> Hearer:
    """The child's ears weeks later: some colds are gone, and the earphones sit."""
    hearer = make_hearer(seed, pupil).reseated()
    return recovered(hearer) if Random(f"later {seed} {pupil.number}").random() < colds_gone else hearer


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
        if statuses[number] == "rescreen":
            tablet.missed.add(number)
        if tablet.rng.random() < _STAYS_AWAY:
            tablet.not_tested("absent", number)
        elif statuses[number] == "could-not-test" and tablet.rng.random() < _STILL_CANNOT:
            tablet.not_tested("could-not-test", number, "tried again, did not answer")
        else:
            tablet.screen(number, ears_later(seed, pupil, _GONE_BY_RESCREEN), pupil.grade)
    return [young, old]


def threshold_day(
    day: date, pupils: Mapping[str, Pupil], statuses: Mapping[str, str], protocol: Protocol, seed: int
) -> list[TabletScript]:
    """One tablet, one audiometrist: a threshold test for every child that missed at the rescreen."""
    tablet = _station("T1", "AUD", day, protocol, seed)
    for number, pupil in _in_class_order(pupils, lambda number: statuses.get(number) == "threshold"):
        tablet.threshold(number, ears_later(seed, pupil, _GONE_BY_TEST))
        tablet.pause(2)
    return [tablet]


def replies(day: date, statuses: Mapping[str, str], seed: int) -> list[dict[str, str]]:
    """What the office hears of each referral in the weeks after ``day``, as follow-up notes in order.

    Every referral is sent; most children are seen and their findings come back, which closes the case; some
    turn out to have no loss; some families are reminded, and one has moved away.
    """
    notes: list[dict[str, str]] = []

    def note(child: str, days: int, step: str, words: str = "") -> None:
        notes.append(
            {"child": child, "step": step, "day": (day + timedelta(days)).isoformat(), "note": words}
        )

    referred = sorted(number for number, status in statuses.items() if status == "referred")
    for place, child in enumerate(referred):
        fate = Random(f"reply {seed} {child}").random()
        note(child, 2, "sent")
        if place == 1:
            note(child, 12, "moved", "moved away, the new school has the record")
        elif fate < 0.5:
            note(child, 14, "seen")
            note(child, 17, "findings", "examined; the findings are on the reply slip")
            note(child, 18, "under-care")
        elif fate < 0.7:
            note(child, 15, "no-loss", "examined; no loss found")
        else:
            note(child, 21, "reminded")
    return sorted(notes, key=lambda each: each["day"])


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
