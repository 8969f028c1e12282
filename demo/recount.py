"""The independent recount: what a day must add up to, worked out from its scripts alone.

Nothing of the app is used here: the rule of the default protocol is written out again in a few plain lines,
so that the demo and its tests compare two workings of the same day.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

STATUSES = (
    "not-seen",
    "absent",
    "declined",
    "under-care",
    "could-not-test",
    "ear-problem",
    "passed",
    "rescreen",
    "threshold",
    "referred",
    "closed",
)
# Among the reasons for not testing, the later one in this list speaks.
_REASONS = ("absent", "declined", "under-care", "could-not-test", "ear-problem")


@dataclass(frozen=True, slots=True)
class Recount:
    """Where every child stands by the scripts.

    ``statuses`` is by student number, or by ``tablet:ref`` for an added child.
    """

    statuses: Mapping[str, str]
    typed: Mapping[str, tuple[str, str, str]]  # given name, family name, birth date of each added record
    added: int  # records added by hand
    joined: int  # of those, records that are a child known by another record
    screened_twice: tuple[str, ...]  # children walked on more than one tablet
    disagreeing: tuple[str, ...]  # of those, children whose results differ
    reseated: int  # walks that were done again after reseating
    walks: int  # screenings in all

    def counts(self) -> dict[str, int]:
        """How many children stand at each status, every status named."""
        found = Counter(self.statuses.values())
        return {status: found[status] for status in STATUSES}


def passed(answers: str) -> bool:
    """Whether a walk passes: every tone of the last time through was answered (guideline aaa-2011)."""
    return "-" not in answers.rpartition("/")[2]


def recount_day(
    listed: Iterable[str], scripts: Mapping[str, Path], *, same: Mapping[str, str] | None = None
) -> Recount:
    """Recount one first screening day.

    ``listed`` are the student numbers on the roster; ``scripts`` the script file of each tablet; ``same``
    maps an added record (``tablet:ref``) to the record of the same child.
    """
    same = same or {}
    events: dict[str, list[tuple[str, str, bool]]] = {number: [] for number in listed}
    typed: dict[str, tuple[str, str, str]] = {}
    walks = reseated = 0
    for tablet, path in scripts.items():
        refs: dict[str, str] = {}
        for text in path.read_text("utf-8").splitlines():
            line = json.loads(text)
            do = line["do"]
            if do == "add":
                record = f"{tablet}:{line['ref']}"
                typed[record] = (line["given"], line["family"], line["born"])
                refs[line["ref"]] = same.get(record, record)
                events.setdefault(refs[line["ref"]], [])
            elif do == "screen":
                walks += 1
                reseated += "/" in line["answers"]
                child = refs.get(line["child"], line["child"])
                events[child].append((tablet, "screen", passed(line["answers"])))
            elif do in _REASONS:
                child = refs.get(line["child"], line["child"])
                events[child].append((tablet, do, False))
    twice = {
        child: {result for _, do, result in happened if do == "screen"}
        for child, happened in events.items()
        if len({tablet for tablet, do, _ in happened if do == "screen"}) > 1
    }
    return Recount(
        statuses={child: _stands(happened) for child, happened in events.items()},
        typed=typed,
        added=len(typed),
        joined=len(same),
        screened_twice=tuple(twice),
        disagreeing=tuple(child for child, results in twice.items() if len(results) > 1),
        reseated=reseated,
        walks=walks,
    )


def _stands(happened: list[tuple[str, str, bool]]) -> str:
    """The one status: the most cautious result, else the weightiest reason, else not seen."""
    reasons = {do for _, do, _ in happened if do != "screen"}
    results = {result for _, do, result in happened if do == "screen"}
    if "ear-problem" in reasons:
        return "ear-problem"
    if results:
        return "passed" if results == {True} else "rescreen"
    return max(reasons, key=_REASONS.index) if reasons else "not-seen"
