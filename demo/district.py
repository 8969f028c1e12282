"""The invented district: two schools, two screening days, rescreening three weeks later, threshold tests.

Everything that will happen is worked out here beforehand, reproducible from a seed, and written as rosters and
scripts; ``story`` then plays it through the real commands and compares.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path

from demo.children import FREQUENCIES, StationFault
from demo.day import SEED, play_morning, station
from demo.examiner import audiogram
from demo.later import replies, rescreen_day, threshold_day
from demo.plan import Plan, make_plan
from demo.recount import Recount, after_replies, recount_day
from demo.roster_file import RosterFacts, write_new_system_roster, write_old_system_roster
from demo.school import Pupil, School, make_school
from demo.script import TabletScript
from shared.hearing.protocol import Protocol

PROTOCOL_FILE = Path(__file__).with_name("district.toml")
RESCREEN_AFTER, THRESHOLDS_AFTER = timedelta(days=21), timedelta(days=7)
EXAMINED_BEFORE = timedelta(days=3)  # the reply comes back


@dataclass(frozen=True, slots=True)
class Mishaps:
    """What goes wrong with machines at one school. Empty: nothing of that kind."""

    failing_earphone: str = ""  # tablet whose left earphone dies at its 40th child
    wrong_clock: str = ""  # tablet whose clock is an hour ahead
    crashed: str = ""  # tablet that is killed in the middle of a child
    returned_twice: str = ""  # tablet whose return is handed in twice


@dataclass(frozen=True, slots=True)
class Round:
    """One day of a visit: what it is for, and each tablet's script."""

    title: str
    day: date
    scripts: dict[str, Path]
    recount: Recount  # of all days up to this one


@dataclass(frozen=True, slots=True)
class Visit:
    """One school, from the roster to the last threshold test."""

    key: str
    school: School
    roster: RosterFacts
    plan: Plan
    mishaps: Mishaps
    classes_of: dict[str, tuple[str, ...]]  # empty: every tablet has every class
    same: dict[str, str]  # added record (tablet:ref) -> student number of the same child
    replies: Path  # what the office notes of each referral
    rounds: list[Round] = field(default_factory=list)
    first_day: list[TabletScript] = field(default_factory=list)

    def notes(self) -> list[dict[str, str]]:
        """What the office notes of each referral, in order."""
        return [json.loads(text) for text in self.replies.read_text("utf-8").splitlines()]


def make_district(folder: Path, protocol: Protocol, *, seed: int = SEED) -> list[Visit]:
    """Write the rosters and every script of the district below ``folder``; the same seed, the same bytes."""
    return [
        _visit(
            folder / "quillmarsh",
            make_school(seed, size=422),
            protocol,
            seed,
            day=date(2026, 10, 14),
            tablets="ABCD",
            mishaps=Mishaps(failing_earphone="C", returned_twice="B"),
        ),
        _visit(
            folder / "tern-hollow",
            make_school(
                seed,
                name="Tern Hollow Elementary School",
                town="Tern Hollow",
                size=480,
                first_number=20_001,
                latin_1_only=False,
                twin_pairs=5,
            ),
            protocol,
            seed,
            day=date(2026, 10, 15),
            tablets="ABCDEF",
            mishaps=Mishaps(wrong_clock="F", crashed="E"),
        ),
    ]


def _visit(
    folder: Path, school: School, protocol: Protocol, seed: int, *, day: date, tablets: str, mishaps: Mishaps
) -> Visit:
    folder.mkdir(parents=True, exist_ok=True)
    split = len(tablets) > 4  # with six tablets each has its own classes
    write_roster = write_new_system_roster if split else write_old_system_roster
    roster = write_roster(folder / "roster.csv", school, seed)
    visit = Visit(
        key=folder.name,
        school=school,
        roster=roster,
        plan=make_plan(school, roster, protocol, seed, cards=True),
        mishaps=mishaps,
        classes_of=_shares(school, tablets) if split else {},
        same={},
        replies=folder / "replies.jsonl",
    )
    first = [station(name, place, day, protocol, seed) for place, name in enumerate(tablets)]
    _prepare_mishaps(first, mishaps)
    play_morning(first, school, roster, visit.plan, seed, classes_of=visit.classes_of)
    visit.same.update(_same_children(first, visit.plan))
    visit.first_day.extend(first)
    _add_round(visit, folder, "screening", day, first)
    pupils = _pupils(visit)
    day += RESCREEN_AFTER
    again = rescreen_day(day, pupils, visit.rounds[-1].recount.statuses, protocol, seed)
    _add_round(visit, folder, "rescreening", day, again)
    day += THRESHOLDS_AFTER
    tests = threshold_day(day, pupils, visit.rounds[-1].recount.statuses, protocol, seed)
    _add_round(visit, folder, "threshold tests", day, tests)
    _add_replies(visit, day, seed)
    return visit


def _shares(school: School, tablets: str) -> dict[str, tuple[str, ...]]:
    """The classes dealt out to the tablets in turn."""
    names = list(school.classes())
    return {tablet: tuple(names[place :: len(tablets)]) for place, tablet in enumerate(tablets)}


def _prepare_mishaps(tablets: list[TabletScript], mishaps: Mishaps) -> None:
    for tablet in tablets:
        if tablet.tablet == mishaps.failing_earphone:
            dead = StationFault({("left", hz): 70.0 for hz in FREQUENCIES})
            tablet.fault_after = (39, dead)
        if tablet.tablet == mishaps.wrong_clock:
            tablet.set_clock_wrong(timedelta(hours=1))


def _same_children(tablets: list[TabletScript], plan: Plan) -> dict[str, str]:
    """Added record (``tablet:ref``) to the student number of the listed child that it is."""
    numbers = {walk_in.ref: walk_in.pupil.number for walk_in in plan.walk_ins if walk_in.listed}
    return {
        f"{tablet.tablet}:{ref}": number
        for tablet in tablets
        for ref, number in {**numbers, **tablet.added_again}.items()
        if any(line.get("ref") == ref for line in tablet.lines)
    }


def _add_round(visit: Visit, folder: Path, title: str, day: date, tablets: list[TabletScript]) -> None:
    scripts = {tablet.tablet: tablet.save(folder) for tablet in tablets}
    so_far = {name: path for each in visit.rounds for name, path in each.scripts.items()} | scripts
    listed = [pupil.number for pupil in visit.roster.listed]
    recount = recount_day(listed, so_far, same=visit.same)
    visit.rounds.append(Round(title, day, scripts, recount))


def _add_replies(visit: Visit, day: date, seed: int) -> None:
    before = visit.rounds[-1].recount
    notes = replies(day, before.statuses, seed)
    pupils = _pupils(visit)
    for note in notes:
        if note["step"] == "findings" and note["child"] in pupils:
            examined = date.fromisoformat(note["day"]) - EXAMINED_BEFORE
            reply = audiogram(seed, pupils[note["child"]], examined)
            note["audiogram"] = f"findings-{note['child']}.json"
            file = visit.replies.with_name(note["audiogram"])
            file.write_text(json.dumps(reply, indent=1) + "\n", "utf-8")
    text = "".join(json.dumps(note, ensure_ascii=False) + "\n" for note in notes)
    visit.replies.write_text(text, "utf-8")
    last = date.fromisoformat(notes[-1]["day"]) if notes else day
    visit.rounds.append(Round("replies", last, {}, after_replies(before, notes)))


def _pupils(visit: Visit) -> dict[str, Pupil]:
    """Every child that may be called by number: listed ones, and those added with their card."""
    walk_ins = [walk_in.pupil for walk_in in visit.plan.walk_ins]
    return {pupil.number: replace(pupil) for pupil in (*visit.roster.listed, *walk_ins)}
