"""One school's screening day through the real commands, and its page of numbers."""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any

from demo.commands import Quietbell
from demo.compare import child_faults, roster_faults, status_faults, table
from demo.day import DAY, TABLETS, Day, make_day, zone_of
from demo.lead import open_doubts, set_letterhead, settle_same_child, tablets_out
from demo.recount import Recount, recount_day
from fieldapp.services.presets import load_protocol

PROTOCOL = "aaa-2011"
BOOK = "lead.book"


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


def play_day(folder: Path, *, shown: bool = True) -> DayResult:
    """The whole day through the real commands; gives what the app says, with every fault found."""
    day = make_day(folder / "school", load_protocol(PROTOCOL))
    run = Quietbell(folder, _at(8, 0, day_before=True), shown)
    prepared = run.json(
        *("prepare", BOOK, "--roster", day.roster.path.relative_to(folder), "--school", day.school.name),
        *("--protocol", PROTOCOL, "--date", DAY.isoformat()),
    )
    for place in ("tablets", "carried"):
        (folder / place).mkdir()
    tablets_out(run, BOOK, ".", TABLETS, {}, {})
    run.moment = _at(11, 45)
    for name in TABLETS:
        run("play", f"tablets/{name}.store", day.scripts[name].relative_to(folder))
        run("give-back", f"tablets/{name}.store", "--out", f"carried/{name}.return")
    gathered = run.json("gather", BOOK, *(f"carried/{name}.return" for name in TABLETS))
    same = _same_children(day)
    settled = settle_same_child(run, BOOK, same)
    set_letterhead(run, BOOK)
    papers = run.json("papers", BOOK, "--out", "papers")
    run("export", BOOK, "--format", "json", "--out", "export")
    run("export", BOOK, "--format", "csv", "--out", "export")
    result = DayResult(
        day=day,
        recount=recount_day([p.number for p in day.roster.listed], day.scripts, same=same),
        gathered=gathered,
        status=run.json("status", BOOK),
        settled=settled,
        open_doubts=open_doubts(run, BOOK),
        children=json.loads((folder / "export/children.json").read_text("utf-8")),
        papers=papers,
    )
    result.faults = [
        *roster_faults(day.roster, prepared),
        *status_faults(len(day.roster.listed), result.recount, result.status),
        *child_faults(result.recount, result.children),
    ]
    return result


def _at(hour: int, minute: int, *, day_before: bool = False) -> datetime:
    return datetime(DAY.year, DAY.month, DAY.day - day_before, hour, minute, tzinfo=zone_of(DAY))


def _same_children(day: Day) -> dict[str, str]:
    """Added record (``tablet:ref``) to the student number of the listed child that it is."""
    return {
        f"{tablet}:{walk_in.ref}": walk_in.pupil.number
        for walk_in in day.plan.walk_ins
        if walk_in.listed
        for tablet, script in day.scripts.items()
        if f'"ref": "{walk_in.ref}"' in script.read_text("utf-8")
    }


def summary(result: DayResult) -> str:
    """The page of numbers."""
    day, recount, status = result.day, result.recount, result.status
    listed, broken, repeated = (
        len(rows) for rows in (day.roster.listed, day.roster.broken, day.roster.repeated)
    )
    lines = [
        "",
        f"{day.school.name}, {DAY:%A %d %B %Y}, protocol {PROTOCOL} (an invented school)",
        "",
        f"The roster file has {listed + broken + repeated} rows: {listed} children, {broken} rows without a "
        f"whole name, {repeated} repeated.",
        "",
        f"  listed on the roster                   {listed:5}",
        f"  added on the day                     + {recount.added:5}",
        f"  of those, a listed child after all   - {recount.joined:5}",
        f"  children                             = {status['children']:5}",
        "",
        *table(status),
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
            "Listed + added - joined = sum over statuses; every child stands where the recount has it.",
            "",
        ]
    return "\n".join(lines)
