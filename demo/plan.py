"""What happens to whom on a screening day: who is absent, who declined, who is walked on two tablets.

Only the drawing of such fates lives here, reproducible from a seed; ``day`` plays them out minute by minute.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from random import Random

from demo.children import make_hearer, walk_answers
from demo.roster_file import RosterFacts
from demo.school import Pupil, School, newcomer
from shared.hearing.protocol import Protocol


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
    seen: dict[str, dict[str, list[str]]]  # of an ear problem: the signs and the ears
    not_reached: frozenset[str]
    walk_ins: tuple[WalkIn, ...]
    twice_agreeing: str
    twice_disagreeing: str
    reseated: str  # earphones slipped; passes after reseating


def make_plan(
    school: School, roster: RosterFacts, protocol: Protocol, seed: int, *, cards: bool = False
) -> Plan:
    """Draw who is absent, who declined and so on; nobody is drawn twice.

    With ``cards`` the children who are not on the roster carry a card with their student number.
    """
    rng = Random(f"plan {seed} {school.name}")
    last_class = roster.listed[-1].class_name
    unreached = [p.number for p in roster.listed if p.class_name == last_class][-4:]
    sure = [p for p in roster.listed if p.number not in unreached and surely_passes(seed, p, protocol)]
    rng.shuffle(sure)
    unasked, crying = _take(sure, 2, lambda pupil: pupil.grade == "K")
    (called_by_another_name,) = _take(sure, 1, lambda pupil: " " in pupil.family and len(pupil.given) > 4)
    absent = _take(sure, round(len(roster.listed) * 0.045))
    on_file = _take(sure, 3)
    phoned, aided, operated, prompted, draining, sore, agreeing, disagreeing, reseated = _take(sure, 9)
    walk_ins = tuple(_walk_ins(school, roster, rng, called_by_another_name))
    if cards:
        walk_ins = tuple(
            w if w.listed else replace(w, typed={"student_number": w.pupil.number}) for w in walk_ins
        )
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
            draining.number: ("ear-problem", "since the weekend"),
            sore.number: ("ear-problem", "pulled away"),
        },
        seen={
            draining.number: {"signs": ["drainage"], "ears": ["right"]},
            sore.number: {"signs": ["tenderness", "pain"], "ears": ["left"]},
        },
        not_reached=frozenset(unreached),
        walk_ins=walk_ins,
        twice_agreeing=agreeing.number,
        twice_disagreeing=disagreeing.number,
        reseated=reseated.number,
    )


def surely_passes(seed: int, pupil: Pupil, protocol: Protocol) -> bool:
    """Whether this child's ears answer every tone, three times over: a story about it stays true."""
    hearer = make_hearer(seed, pupil)
    rng = Random(f"sure {seed} {pupil.number}")
    return hearer.slip is None and all(
        "-" not in walk_answers(hearer, protocol, rng, grade=pupil.grade) for _ in range(3)
    )


def _take(pupils: list[Pupil], count: int, fits: Callable[[Pupil], bool] = lambda pupil: True) -> list[Pupil]:
    """The first ``count`` of the shuffled pupils that fit; they leave the list: none is drawn twice."""
    found = [pupil for pupil in pupils if fits(pupil)][:count]
    for pupil in found:
        pupils.remove(pupil)
    return found


def _walk_ins(school: School, roster: RosterFacts, rng: Random, on_roster: Pupil) -> Iterator[WalkIn]:
    """Those whose roster row was broken, three newcomers, one whom the roster calls by a fuller name, and the
    twin of a listed child, new at the school.
    """
    for number, pupil in enumerate(roster.broken, start=1):
        yield WalkIn(f"w{number}", pupil)
    first_free = max(int(pupil.number[2:]) for pupil in school.pupils) + 1
    for place, class_name in enumerate(("1B", "3A", "4C")):
        pupil = newcomer(rng, first_free + place, class_name, school.town)
        yield WalkIn(f"w{len(roster.broken) + 1 + place}", pupil)
    shorter = on_roster.family.split()[0].split("-")[0]
    typed = {"family": shorter, "given": on_roster.given[:-1]}
    yield WalkIn(f"w{len(roster.broken) + 4}", on_roster, typed, listed=True)
    listed = rng.choice(roster.listed[30:-30])
    given = next(p.given for p in school.pupils if p.language == listed.language and p.given != listed.given)
    twin = replace(listed, number=f"S-{first_free + 3}", given=given)
    yield WalkIn(f"w{len(roster.broken) + 5}", twin)
