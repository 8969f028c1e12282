"""A first screening day, played forward: tablets take class after class and write their scripts.

The plan says what goes otherwise than usual; everything else follows from the children's ears. The day that
``demo/run.sh --day`` plays is made here too: one school, four tablets, one morning.
"""

from __future__ import annotations

import heapq
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from random import Random

from demo.children import Hearer, make_hearer
from demo.plan import Plan, WalkIn, make_plan
from demo.roster_file import RosterFacts, write_old_system_roster
from demo.school import Pupil, School, make_school
from demo.script import TabletScript
from shared.hearing.protocol import Protocol

DAY = date(2026, 10, 14)
DAYLIGHT_ENDS = date(2026, 11, 1)
TABLETS = ("A", "B", "C", "D")
SCREENERS = {"A": "MK", "B": "TO", "C": "RV", "D": "JLP", "E": "SAB", "F": "NW"}
SEED = 20_261_014
# Minutes for one class to go and the next to come; the break, and when it is due.
_CLASS_CHANGE, _BREAK, _BREAK_FROM = 3.0, 10.0, (9, 40)


@dataclass(frozen=True, slots=True)
class Day:
    """One school's screening day, ready to be played."""

    school: School
    roster: RosterFacts
    plan: Plan
    date: date
    scripts: dict[str, Path] = field(default_factory=dict)  # by tablet


def zone_of(day: date) -> timezone:
    """The offset of the district's local time: an hour less from the end of daylight saving on."""
    return timezone(timedelta(hours=-5 if day < DAYLIGHT_ENDS else -6))


def make_day(folder: Path, protocol: Protocol, *, seed: int = SEED, size: int = 422) -> Day:
    """Write the roster and the four scripts of the day into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    school = make_school(seed, size=size)
    roster = write_old_system_roster(folder / "roster.csv", school, seed)
    plan = make_plan(school, roster, protocol, seed)
    tablets = [station(name, place, DAY, protocol, seed) for place, name in enumerate(TABLETS)]
    play_morning(tablets, school, roster, plan, seed)
    return Day(school, roster, plan, DAY, {tablet.tablet: tablet.save(folder) for tablet in tablets})


def station(name: str, place: int, day: date, protocol: Protocol, seed: int) -> TabletScript:
    """A tablet set up in its room in the morning: signed in, readiness proven."""
    tablet = TabletScript(
        tablet=name,
        clock=datetime(day.year, day.month, day.day, 8, 5 + place, tzinfo=zone_of(day)),
        protocol=protocol,
        rng=Random(f"tablet {seed} {name} {day}"),
        audiometer=f"AM-{place + 3:02d}",
        earphones=f"EP-{place + 3:02d}",
        calibrated=date(2026, 8, 17 + place),
    )
    tablet.sign_in(SCREENERS[name])
    tablet.ready()
    return tablet


def play_morning(
    tablets: Sequence[TabletScript],
    school: School,
    roster: RosterFacts,
    plan: Plan,
    seed: int,
    *,
    classes_of: Mapping[str, Sequence[str]] | None = None,
) -> None:
    """Play the morning forward: the tablet that is free first takes the next class.

    With ``classes_of`` (tablet to classes) each tablet has only its own classes.
    """
    listed = {pupil.number for pupil in roster.listed}
    waiting = {name: [p for p in pupils if p.number in listed] for name, pupils in school.classes().items()}
    free = [(tablet.clock, tablet.tablet, tablet) for tablet in tablets]
    heapq.heapify(free)
    finished: list[TabletScript] = []
    rested: set[str] = set()
    while free:
        _, name, tablet = heapq.heappop(free)
        class_name = next((c for c in waiting if not classes_of or c in classes_of[name]), None)
        if class_name is None:
            finished.append(tablet)
            continue
        _whole_class(tablet, class_name, waiting.pop(class_name), plan, seed)
        tablet.pause(_CLASS_CHANGE)
        if (tablet.clock.hour, tablet.clock.minute) >= _BREAK_FROM and name not in rested:
            rested.add(name)
            tablet.pause(_BREAK)
        heapq.heappush(free, (tablet.clock, name, tablet))
    _stragglers(finished, school, plan, seed, classes_of or {})


def _whole_class(tablet: TabletScript, class_name: str, pupils: list[Pupil], plan: Plan, seed: int) -> None:
    """One class at one station: the listed children as they stand in line, then those nobody had listed."""
    for pupil in tablet.rng.sample(pupils, len(pupils)):
        number = pupil.number
        if number in plan.not_reached:
            continue
        if number in plan.absent:
            tablet.not_tested("absent", number)
        elif number in plan.not_tested:
            reason, note = plan.not_tested[number]
            tablet.not_tested(reason, number, note, **plan.seen.get(number, {}))
        elif number == plan.reseated:
            tablet.screen_as(number, "+++--+/++++++")
        else:
            tablet.screen(number, make_hearer(seed, pupil), pupil.grade)
    for walk_in in plan.walk_ins:
        if walk_in.pupil.class_name == class_name:
            tablet.add(walk_in.ref, walk_in.pupil, **walk_in.typed)
            tablet.screen(walk_in.ref, _hearer_of(walk_in, seed), walk_in.pupil.grade)


def _hearer_of(walk_in: WalkIn, seed: int) -> Hearer:
    return replace(make_hearer(seed, walk_in.pupil), slip=None)


def _stragglers(
    tablets: list[TabletScript],
    school: School,
    plan: Plan,
    seed: int,
    classes_of: Mapping[str, Sequence[str]],
) -> None:
    """The end of the morning: those who came late, and two who stood in line a second time."""
    for place, number in enumerate(plan.late):
        pupil = school.pupil(number)
        theirs = [t for t in tablets if not classes_of or pupil.class_name in classes_of[t.tablet]]
        tablet = theirs[place % len(theirs)]
        tablet.pause(4)
        tablet.screen(number, make_hearer(seed, pupil), pupil.grade)
    for place, (number, answers) in enumerate(
        ((plan.twice_agreeing, "++++++"), (plan.twice_disagreeing, "++-+++/++-+++"))
    ):
        tablet = _another(tablets, number, tablets[2 * place])
        ref = number
        if classes_of:  # the child is not on this tablet's list: added by hand, without its number
            ref = f"t{place + 1}"
            tablet.add(ref, school.pupil(number))
            tablet.added_again[ref] = number
        tablet.screen_as(ref, answers)


def _another(tablets: list[TabletScript], number: str, wished: TabletScript) -> TabletScript:
    """A tablet that has not walked this child yet, ``wished`` if it has not."""
    return next(
        tablet
        for tablet in (wished, *tablets)
        if not any(line.get("child") == number for line in tablet.lines)
    )
