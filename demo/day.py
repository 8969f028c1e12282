"""The scripted day: one invented school, four tablets, one morning.

Writes the roster and a script per tablet.

The plan names in one place what makes the day a real one: who is absent, who declined, who turns up without
being on the roster, who is walked on two tablets. Everything else follows from the children's ears.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from random import Random

from demo.children import Hearer, make_hearer, walk_answers
from demo.roster_file import RosterFacts, write_old_system_roster
from demo.school import Pupil, School, make_school, newcomer
from demo.script import TabletScript
from shared.hearing.protocol import Protocol

DAY = date(2026, 10, 14)
ZONE = timezone(timedelta(hours=-5))
TABLETS = ("A", "B", "C", "D")
SCREENERS = {"A": "MK", "B": "TO", "C": "RV", "D": "JLP"}
# Whole class, then the tablet's clock: a class takes some minutes to come and go.
_CLASS_CHANGE = 3.0


@dataclass(frozen=True, slots=True)
class WalkIn:
    """A child added by hand: what the screener typed otherwise, and whether the roster has the child too."""

    ref: str
    pupil: Pupil
    typed: dict[str, str] = field(default_factory=dict)
    listed: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """What happens to whom. Sets and keys are student numbers."""

    absent: frozenset[str]
    late: tuple[str, ...]  # absent when their class came, screened at the end of the morning
    not_tested: dict[str, tuple[str, str]]  # reason and note
    not_reached: frozenset[str]
    walk_ins: tuple[WalkIn, ...]
    twice_agreeing: str
    twice_disagreeing: str
    reseated: str  # earphones slipped; passes after reseating


@dataclass(frozen=True, slots=True)
class Day:
    """A day ready to be played."""

    school: School
    roster: RosterFacts
    plan: Plan
    scripts: dict[str, Path]


def make_day(folder: Path, protocol: Protocol, *, seed: int = 20_261_014, size: int = 422) -> Day:
    """Write the roster and the four scripts of the day into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    school = make_school(seed, size=size)
    roster = write_old_system_roster(folder / "roster.csv", school, seed)
    plan = make_plan(school, roster, protocol, seed)
    tablets = _morning(school, roster, plan, protocol, seed)
    return Day(school, roster, plan, {tablet.tablet: tablet.save(folder) for tablet in tablets})


def make_plan(school: School, roster: RosterFacts, protocol: Protocol, seed: int) -> Plan:
    """Draw who is absent, who declined and so on; nobody is drawn twice."""
    rng = Random(f"plan {seed}")
    unreached = [p.number for p in roster.listed if p.class_name == "5C"][-4:]
    sure = [p for p in roster.listed if p.number not in unreached and _surely_passes(seed, p, protocol)]
    rng.shuffle(sure)
    unasked, crying = _take(sure, 2, lambda pupil: pupil.grade == "K")
    (called_by_another_name,) = _take(sure, 1, lambda pupil: " " in pupil.family and len(pupil.given) > 4)
    absent = _take(sure, round(len(roster.listed) * 0.045))
    on_file = _take(sure, 3)
    phoned, aided, operated, prompted, draining, sore, agreeing, disagreeing, reseated = _take(sure, 9)
    return Plan(
        absent=frozenset(p.number for p in [called_by_another_name, *absent]),
        late=tuple(p.number for p in absent[:2]),
        not_tested={
            **{pupil.number: ("declined", "form on file") for pupil in on_file},
            phoned.number: ("declined", "guardian called the office"),
            aided.number: ("under-care", "wears hearing aids, seen every spring"),
            operated.number: ("under-care", "ear surgery in September"),
            unasked.number: ("could-not-test", "did not understand the game, two tries"),
            crying.number: ("could-not-test", "cried, wanted to go back"),
            prompted.number: ("could-not-test", "answers without a tone"),
            draining.number: ("ear-problem", "right ear drains"),
            sore.number: ("ear-problem", "left ear hurts to the touch"),
        },
        not_reached=frozenset(unreached),
        walk_ins=tuple(_walk_ins(school, roster, rng, called_by_another_name)),
        twice_agreeing=agreeing.number,
        twice_disagreeing=disagreeing.number,
        reseated=reseated.number,
    )


def _take(pupils: list[Pupil], count: int, fits: Callable[[Pupil], bool] = lambda pupil: True) -> list[Pupil]:
    """The first ``count`` of the shuffled pupils that fit; they leave the list: none is drawn twice."""
    found = [pupil for pupil in pupils if fits(pupil)][:count]
    for pupil in found:
        pupils.remove(pupil)
    return found


def _walk_ins(school: School, roster: RosterFacts, rng: Random, on_roster: Pupil) -> Iterator[WalkIn]:
    """Two whose roster row was broken, three newcomers, and one whom the roster calls by a fuller name."""
    for number, pupil in enumerate(roster.broken, start=1):
        yield WalkIn(f"w{number}", pupil)
    for number, class_name in enumerate(("1B", "3A", "4C"), start=3):
        yield WalkIn(f"w{number}", newcomer(rng, 19_990 + number, class_name, school.town))
    shorter = on_roster.family.split()[0].split("-")[0]
    yield WalkIn("w6", on_roster, {"family": shorter, "given": on_roster.given[:-1]}, listed=True)


def _surely_passes(seed: int, pupil: Pupil, protocol: Protocol) -> bool:
    """Whether this child's ears answer every tone, three times over: a story about it stays true."""
    hearer = make_hearer(seed, pupil)
    rng = Random(f"sure {seed} {pupil.number}")
    return hearer.slip is None and all(
        "-" not in walk_answers(hearer, protocol, rng, grade=pupil.grade) for _ in range(3)
    )


def _morning(
    school: School, roster: RosterFacts, plan: Plan, protocol: Protocol, seed: int
) -> list[TabletScript]:
    """Play the morning forward: the tablet that is free first takes the next class."""
    tablets = [_station(name, place, protocol, seed) for place, name in enumerate(TABLETS)]
    listed = {pupil.number for pupil in roster.listed}
    free = [(tablet.clock, tablet.tablet, tablet) for tablet in tablets]
    heapq.heapify(free)
    for class_name, pupils in school.classes().items():
        _, name, tablet = heapq.heappop(free)
        _whole_class(tablet, class_name, [p for p in pupils if p.number in listed], plan, seed)
        tablet.pause(_CLASS_CHANGE)
        if tablet.clock.hour == 9 and tablet.clock.minute >= 40 and len(tablet.lines) > 45:
            tablet.pause(10)  # a break in the morning
        heapq.heappush(free, (tablet.clock, name, tablet))
    _stragglers([heapq.heappop(free)[2] for _ in TABLETS], school, plan, seed)
    return tablets


def _station(name: str, place: int, protocol: Protocol, seed: int) -> TabletScript:
    start = datetime(DAY.year, DAY.month, DAY.day, 8, 5 + place, tzinfo=ZONE)
    tablet = TabletScript(
        tablet=name,
        clock=start,
        protocol=protocol,
        rng=Random(f"tablet {seed} {name}"),
        audiometer=f"AM-{place + 3:02d}",
        earphones=f"EP-{place + 3:02d}",
        calibrated=date(2026, 8, 17 + place),
    )
    tablet.sign_in(SCREENERS[name])
    tablet.ready()
    return tablet


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
            tablet.not_tested(reason, number, note)
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


def _stragglers(tablets: list[TabletScript], school: School, plan: Plan, seed: int) -> None:
    """The end of the morning: those who came late, and two who stood in line a second time."""
    first, second, third = tablets[0], tablets[1], tablets[2]
    for tablet, number in zip((first, second), plan.late, strict=True):
        tablet.pause(4)
        tablet.screen(number, make_hearer(seed, school.pupil(number)), school.pupil(number).grade)
    _another(tablets, plan.twice_agreeing, first).screen_as(plan.twice_agreeing, "++++++")
    _another(tablets, plan.twice_disagreeing, third).screen_as(plan.twice_disagreeing, "++-+++/++-+++")


def _another(tablets: list[TabletScript], number: str, wished: TabletScript) -> TabletScript:
    """A tablet that has not walked this child yet, ``wished`` if it has not."""
    return next(
        tablet
        for tablet in (wished, *tablets)
        if not any(line.get("child") == number for line in tablet.lines)
    )
