"""The demo's run: the scripted day through the real commands, then a page of numbers that must add up.

The numbers on the page are the app's own answers; each is compared with the recount of the scripts, child by
child. A difference ends the demo with status 1.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from demo.commands import PASSPHRASE, CommandFailed, Quietbell, environment
from demo.day import DAY, TABLETS, Day, make_day, zone_of
from demo.recount import STATUSES, Recount, recount_day
from fieldapp.services.presets import load_protocol

PROTOCOL = "aaa-2011"
BOOK = "lead.book"
_MARK = ".quietbell-demo"


@dataclass(slots=True)
class DayResult:
    """What the app says after the day, beside what the scripts add up to."""

    day: Day
    recount: Recount
    gathered: dict[str, Any]  # what ``gather`` printed
    status: dict[str, Any]  # what ``status`` printed at the very end
    settled: list[str]  # doubts decided, in words
    open_doubts: list[str]
    children: list[dict[str, Any]]  # children.json
    papers: list[dict[str, Any]]
    faults: list[str] = field(default_factory=list)


def main(arguments: Sequence[str] | None = None) -> int:
    """Play the demo into a folder; gives the exit status."""
    parser = argparse.ArgumentParser(
        prog="demo/run.sh", description="A whole screening day through the real commands."
    )
    parser.add_argument("folder", nargs="?", type=Path, default=Path("out/demo"), help="default: out/demo")
    parser.add_argument("--no-window", action="store_true", help="do not open the app at the end")
    options = parser.parse_args(arguments)
    folder: Path = options.folder.resolve()
    try:
        fresh_folder(folder)
        result = play_day(folder)
    except CommandFailed as failed:
        print(failed, file=sys.stderr)
        return 1
    page = summary(result)
    (folder / "summary.txt").write_text(page, "utf-8")
    print(page)
    if result.faults:
        return 1
    print(f"Everything is in {folder}. The passphrase of every store: {PASSPHRASE}")
    if not options.no_window and (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        print("Opening the lead's book.")
        open_app = [sys.executable, "-m", "fieldapp", BOOK]
        return subprocess.run(open_app, cwd=folder, env=environment()).returncode
    return 0


def fresh_folder(folder: Path) -> None:
    """An empty folder for the demo; an older demo is cleared away, anything else is left alone."""
    if folder.exists() and any(folder.iterdir()):
        if not (folder / _MARK).exists():
            raise CommandFailed(f"{folder} holds something else than an earlier demo. Name another folder.")
        shutil.rmtree(folder)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / _MARK).touch()


def play_day(folder: Path, *, shown: bool = True) -> DayResult:
    """The whole day through the real commands; gives what the app says, with every fault found."""
    day = make_day(folder / "school", load_protocol(PROTOCOL))
    run = Quietbell(folder, at(8, 0, day_before=True), shown)
    prepared = run.json(
        *("prepare", BOOK, "--roster", day.roster.path.relative_to(folder), "--school", day.school.name),
        *("--protocol", PROTOCOL, "--date", DAY.isoformat()),
    )
    for place in ("tablets", "carried"):
        (folder / place).mkdir()
    for name in TABLETS:
        run("handout", BOOK, "--tablet", name, "--out", f"carried/{name}.handout")
        run("receive", f"carried/{name}.handout", "--store", f"tablets/{name}.store")
    run.moment = at(11, 45)
    for name in TABLETS:
        run("play", f"tablets/{name}.store", day.scripts[name].relative_to(folder))
        run("give-back", f"tablets/{name}.store", "--out", f"carried/{name}.return")
    gathered = run.json("gather", BOOK, *(f"carried/{name}.return" for name in TABLETS))
    settled, joined = settle(run, day)
    papers = run.json("papers", BOOK, "--out", "papers")
    run("export", BOOK, "--format", "json", "--out", "export")
    run("export", BOOK, "--format", "csv", "--out", "export")
    status = run.json("status", BOOK)
    open_doubts = [f"{doubt['question']} {doubt['about'][0]}" for doubt in run.json("doubts", BOOK)]
    result = DayResult(
        day=day,
        recount=recount_day([p.number for p in day.roster.listed], day.scripts, same=joined),
        gathered=gathered,
        status=status,
        settled=settled,
        open_doubts=open_doubts,
        children=json.loads((folder / "export/children.json").read_text("utf-8")),
        papers=papers,
    )
    result.faults = [*roster_faults(day, prepared), *day_faults(result)]
    return result


def at(hour: int, minute: int, *, day_before: bool = False) -> datetime:
    """A moment of the demo's day, or of the day before."""
    return datetime(DAY.year, DAY.month, DAY.day - day_before, hour, minute, tzinfo=zone_of(DAY))


def settle(run: Quietbell, day: Day) -> tuple[list[str], dict[str, str]]:
    """Decide, as the lead would who asks in the class, which records are one child.

    Gives what was decided in words, and the added records (``tablet:ref``) that are a listed child. Results
    that disagree are left open: the child stays on the rescreen list until somebody rules.
    """
    known = {walk_in.pupil.number: walk_in for walk_in in day.plan.walk_ins if walk_in.listed}
    settled = []
    for doubt in run.json("doubts", BOOK):
        if doubt["kind"] != "same-child":
            continue
        one = any(number in about for number in known for about in doubt["about"]) and any(
            "added" in about for about in doubt["about"]
        )
        run("settle", BOOK, doubt["id"], "one" if one else "two")
        settled.append(f"{doubt['about'][0]} / {doubt['about'][1]}: {'one child' if one else 'two children'}")
    joined = {}
    for number, walk_in in known.items():
        tablet = next(
            name
            for name, script in day.scripts.items()
            if f'"ref": "{walk_in.ref}"' in script.read_text("utf-8")
        )
        joined[f"{tablet}:{walk_in.ref}"] = number
    return settled, joined


def roster_faults(day: Day, prepared: dict[str, Any]) -> list[str]:
    """Whether every row of the roster file was imported or named with its reason."""
    faults = []
    if prepared["children"] != len(day.roster.listed):
        faults.append(f"roster: {prepared['children']} children imported, not {len(day.roster.listed)}")
    not_taken = len(day.roster.broken) + len(day.roster.repeated)
    if len(prepared["problems"]) != not_taken:
        faults.append(f"roster: {len(prepared['problems'])} rows not taken, not {not_taken}")
    return faults


def day_faults(result: DayResult) -> list[str]:
    """Every way in which the app's numbers and the recount differ; none in a sound demo."""
    listed = len(result.day.roster.listed)
    recount, status = result.recount, result.status
    faults = []

    def same(what: str, app: object, expected: object) -> None:
        if app != expected:
            faults.append(f"{what}: the app says {app}, the recount {expected}")

    same("listed", result.gathered["listed"], listed)
    same("added", result.gathered["added"], recount.added)
    same("children", status["children"], listed + recount.added - recount.joined)
    same("sum over statuses", sum(status["statuses"].values()), listed + recount.added - recount.joined)
    same("statuses", {name: status["statuses"][name] for name in STATUSES}, recount.counts())
    for name, device in status["devices"].items():
        same(f"entries missing from tablet {name}", device["missing"], [])
    by_number = {child["student_number"]: child for child in result.children if child["student_number"]}
    by_name = {(c["given"], c["family"], c["born"]): c for c in result.children if not c["student_number"]}
    for child, expected in recount.statuses.items():
        found = by_number.get(child) or by_name.get(recount.typed.get(child, ("", "", "")))
        same(f"child {child}", found and found["status"], expected)
    same("children exported", len(result.children), len(recount.statuses))
    return faults


def summary(result: DayResult) -> str:
    """The page of numbers."""
    day, recount, status = result.day, result.recount, result.status
    listed = len(day.roster.listed)
    rows = listed + len(day.roster.broken) + len(day.roster.repeated)
    lines = [
        "",
        f"{day.school.name}, {DAY:%A %d %B %Y}, protocol {PROTOCOL} (an invented school)",
        "",
        f"The roster file has {rows} rows: {listed} children, {len(day.roster.broken)} rows without a whole "
        f"name, {len(day.roster.repeated)} repeated.",
        "",
        f"  listed on the roster                   {listed:5}",
        f"  added on the day                     + {recount.added:5}",
        f"  of those, a listed child after all   - {recount.joined:5}",
        f"  children                             = {status['children']:5}",
        "",
        *(f"  {name:37}{count:5}" for name, count in status["statuses"].items() if count),
        f"  {'sum':37}{sum(status['statuses'].values()):5}",
        "",
        f"{recount.walks} tone walks on {len(day.scripts)} tablets, {recount.reseated} of them walked again "
        "after reseating the earphones;",
        f"{len(recount.screened_twice)} children were walked on two tablets, {len(recount.disagreeing)} with "
        "results that disagree.",
        *(
            f"  tablet {name}: {device['entries']} entries, {len(device['missing'])} missing"
            for name, device in status["devices"].items()
        ),
        "",
        f"Decided by the lead: {len(result.settled)}",
        *(f"  {words}" for words in result.settled),
        f"Doubts left open: {len(result.open_doubts)}",
        *(f"  {words}" for words in result.open_doubts),
        "",
        f"Papers: {len(result.papers)}",
        *(
            f"  {paper['file']}, {paper['pages']} page{'s' * (paper['pages'] != 1)}"
            for paper in result.papers
        ),
        "",
    ]
    if result.faults:
        lines += ["THE NUMBERS DO NOT ADD UP:", *(f"  {fault}" for fault in result.faults), ""]
    else:
        lines += [
            "Listed + added - joined = sum over statuses, and every child stands where the recount puts it.",
            "",
        ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
