"""The district's story on one page: what the app counts at each stage, school beside school."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Sequence

from demo.recount import STATUSES
from demo.story import DistrictStory, VisitStory

_WIDTH = 100


def page(district: DistrictStory) -> str:
    """The page, plain text, at most a hundred columns."""
    stories = district.visits
    lines = [
        "",
        "An invented district's hearing screening, autumn 2026",
        "",
        _row("", [story.visit.school.town for story in stories], "together"),
        *_children(stories),
    ]
    for place, this in enumerate(stories[0].visit.rounds):
        days = " and ".join(f"{story.visit.rounds[place].day:%d %b}" for story in stories)
        lines += ["", f"after the {this.title}, {days}", *_stage(stories, place)]
    lines += ["", "What happened on the way"]
    for story in stories:
        lines += [
            f"  {story.visit.school.town}",
            *(line for words in _happened(story) for line in _item(words)),
        ]
    lines += ["", f"Papers: {_papers(stories)}", ""]
    if district.faults:
        lines += ["THE NUMBERS DO NOT ADD UP:", *(f"  {fault}" for fault in district.faults), ""]
    else:
        lines += [
            "At every stage listed + added - joined = sum over statuses, and every child stands where an",
            "independent recount of the scripts puts it.",
            "",
        ]
    return "\n".join(lines)


def _children(stories: Sequence[VisitStory]) -> list[str]:
    return [
        _sum("listed on the rosters", stories, lambda s: len(s.visit.roster.listed)),
        _sum("+ added by hand", stories, lambda s: s.visit.rounds[-1].recount.added),
        _sum("- known by another record", stories, lambda s: s.visit.rounds[-1].recount.joined),
        _sum("= children", stories, lambda s: s.stages[-1]["children"]),
    ]


def _stage(stories: Sequence[VisitStory], place: int) -> list[str]:
    def count(status: str) -> Callable[[VisitStory], int]:
        return lambda story: int(story.stages[place]["statuses"][status])

    rows = [
        _sum(f"  {status}", stories, count(status))
        for status in STATUSES
        if any(count(status)(story) for story in stories)
    ]
    return [*rows, _sum("  sum", stories, lambda s: sum(s.stages[place]["statuses"].values()))]


def _happened(story: VisitStory) -> list[str]:
    recount = story.visit.rounds[-1].recount
    devices = story.stages[-1]["devices"]
    entries = sum(device["entries"] for device in devices.values())
    return [
        f"{recount.walks} tone walks, {recount.reseated} of them again after reseating the earphones; "
        f"{entries} entries from {len(devices)} tablets, none missing.",
        *story.events,
        f"{len(recount.screened_twice)} children were walked on two tablets; "
        f"{len(recount.disagreeing)} with results that disagree, kept on the rescreen list until the planned rescreen.",
        *(f"Decided by the lead: {words}." for words in story.settled),
        *(f"Left open: {words}" for words in story.doubts),
    ]


def _item(words: str) -> list[str]:
    return textwrap.wrap(words, _WIDTH, initial_indent="    - ", subsequent_indent="      ")


def _papers(stories: Sequence[VisitStory]) -> str:
    made = [paper for story in stories for paper in story.papers]
    return f"{len(made)} files, {sum(paper['pages'] for paper in made)} pages"


def _sum(label: str, stories: Sequence[VisitStory], value: Callable[[VisitStory], int]) -> str:
    values = [value(story) for story in stories]
    return _row(label, [str(each) for each in values], str(sum(values)))


def _row(label: str, cells: Sequence[str], last: str) -> str:
    return f"{label:34}" + "".join(f"{cell:>14}" for cell in (*cells, last))
