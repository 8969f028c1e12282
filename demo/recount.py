"""The independent recount: what the days must add up to, worked out from their scripts alone.

Nothing of the app is used here: the rules of the demo's protocols (aaa-2011 and the invented district's own,
which is the same up to the rescreen) are written out again in a few plain lines, so that the demo and its
tests compare two workings of the same days.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
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

# The invented district's referral rule: dB HL at which a frequency is on the line.
_LINES = {250: 40, 500: 30, 1000: 30, 2000: 30, 4000: 40, 8000: 40}
_COUNTED, _PAIR, _ANY_ONE = (500, 1000, 2000), (2000, 4000), 40
_NO_RESPONSE = 999

_CLOSING = ("closed", "moved", "no-loss", "under-care", "declined", "lost")


@dataclass(slots=True)
class Child:
    """What the scripts say of one child; ``walks`` and the tests are by day, in the order of the days."""

    walks: dict[str, dict[str, list[bool]]] = field(default_factory=dict)  # day -> tablet -> passed
    reasons: list[tuple[str, str]] = field(default_factory=list)  # (day, reason)
    thresholds: dict[tuple[str, int], list[int]] = field(default_factory=dict)  # (ear, Hz) -> dB HL, each try

    def stands(self) -> str:
        """The one status, before any follow-up."""
        if self.thresholds:
            return "referred" if refers(self.thresholds) else "passed"
        days = sorted(self.walks)
        problems = [day for day, reason in self.reasons if reason == "ear-problem"]
        if problems and (not days or problems[-1] >= days[-1]):
            return "ear-problem"
        if days:
            return self._after_walks(days)
        reasons = [reason for _, reason in self.reasons]
        return max(reasons, key=_REASONS.index) if reasons else "not-seen"

    def _after_walks(self, days: Sequence[str]) -> str:
        """A miss on the first day asks for the rescreen; a miss at the rescreen, for the threshold test."""
        failed = 0
        for day in days:
            passed_all = all(result for results in self.walks[day].values() for result in results)
            if passed_all:
                return "passed"
            failed += 1
        return "rescreen" if failed == 1 else "threshold"

    def missed(self) -> list[bool]:
        """Whether the child missed, day by day."""
        return [
            not all(result for results in self.walks[day].values() for result in results)
            for day in sorted(self.walks)
        ]

    def disagrees(self) -> bool:
        """Whether walks of one day differ."""
        return any(len({r for rs in day.values() for r in rs}) > 1 for day in self.walks.values())


@dataclass(frozen=True, slots=True)
class Recount:
    """Where every child stands by the scripts.

    ``statuses`` is by student number, or by ``tablet:ref`` for an added child without one.
    """

    statuses: Mapping[str, str]
    typed: Mapping[str, tuple[str, str, str]]  # given name, family name, birth date of each added record
    added: int  # records added by hand
    joined: int  # of those, records that are a child known by another record
    screened_twice: tuple[str, ...]  # children walked on more than one tablet on a day
    disagreeing: tuple[str, ...]  # children whose results of one day differ
    reseated: int  # walks that were done again after reseating
    walks: int  # screenings in all
    children: Mapping[str, Child]

    def counts(self) -> dict[str, int]:
        """How many children stand at each status, every status named."""
        found = Counter(self.statuses.values())
        return {status: found[status] for status in STATUSES}


def after_replies(counted: Recount, notes: Iterable[Mapping[str, str]]) -> Recount:
    """The recount once the office has noted what became of the referrals: some steps close a case."""
    closed = {note["child"]: "closed" for note in notes if note["step"] in _CLOSING}
    return replace(counted, statuses={**counted.statuses, **closed})


def passed(answers: str) -> bool:
    """Whether a walk passes: every tone of the last time through was answered."""
    return "-" not in answers.rpartition("/")[2]


def threshold(steps: str) -> int:
    """The threshold of one search, dB HL: the lowest level answered on two ascending presentations at least,
    and on half of them. A presentation counts once the child has answered before, and is no step down.
    """
    counted: dict[int, list[bool]] = {}
    answered, before = False, 0
    for step in steps.split():
        level, heard = int(step[:-1]), step[-1] == "+"
        if answered and (not heard or level >= before):
            counted.setdefault(level, []).append(heard)
        answered, before = answered or heard, level
    found = [level for level, tries in counted.items() if sum(tries) >= 2 and 2 * sum(tries) >= len(tries)]
    return min(found, default=_NO_RESPONSE)


def refers(tries: Mapping[tuple[str, int], Sequence[int]]) -> bool:
    """Whether thresholds meet the invented district's referral rule in either ear."""
    for ear in ("right", "left"):
        levels = {hz: _standing(found) for (side, hz), found in tries.items() if side == ear}
        on_line = [hz for hz in _LINES if levels.get(hz, -99) >= _LINES[hz]]
        if sum(hz in on_line for hz in _COUNTED) >= 2 or all(hz in on_line for hz in _PAIR):
            return True
        if any(level >= _ANY_ONE for level in levels.values()):
            return True
    return False


def _standing(tries: Sequence[int]) -> int:
    """The better of two tries of one tone that agree within 5 dB; of none that agree, the worst."""
    ordered = sorted(tries)
    for better, worse in pairwise(ordered):
        if worse - better <= 5:
            return better
    return ordered[-1]


def recount_day(
    listed: Iterable[str], scripts: Mapping[str, Path], *, same: Mapping[str, str] | None = None
) -> Recount:
    """Recount the scripts (by tablet, in the order of the days) of one visit.

    ``listed`` are the student numbers on the roster; ``same`` maps an added record to the record of the same
    child. A script may name its day twice over (``at``); only the date is used, as the tablet saw it.
    """
    same = same or {}
    children = {number: Child() for number in listed}
    typed: dict[str, tuple[str, str, str]] = {}
    walks = reseated = 0
    for tablet, path in scripts.items():
        refs: dict[str, str] = {}
        for text in path.read_text("utf-8").splitlines():
            line = json.loads(text)
            do, day = line["do"], line.get("at", "")[:10]
            if do == "add":
                record = line.get("student_number") or f"{tablet}:{line['ref']}"
                typed[record] = (line["given"], line["family"], line["born"])
                refs[line["ref"]] = same.get(record, record)
                children.setdefault(refs[line["ref"]], Child())
                continue
            if "child" not in line:
                continue
            child = children[refs.get(line["child"], line["child"])]
            if do == "screen":
                walks += 1
                reseated += "/" in line["answers"]
                results = child.walks.setdefault(day, {}).setdefault(tablet, [])
                if "again" in line and results:
                    results.pop()  # the station was at fault: the new walk stands instead
                results.append(passed(line["answers"]))
            elif do == "threshold":
                found = child.thresholds.setdefault((line["ear"], line["hz"]), [])
                found.append(threshold(line["steps"]))
            elif do in _REASONS:
                child.reasons.append((day, do))
    return Recount(
        statuses={name: child.stands() for name, child in children.items()},
        typed=typed,
        added=len(typed),
        joined=len(same),
        screened_twice=tuple(
            name for name, c in children.items() if any(len(day) > 1 for day in c.walks.values())
        ),
        disagreeing=tuple(name for name, child in children.items() if child.disagrees()),
        reseated=reseated,
        walks=walks,
        children=children,
    )


def yearly(counted: Recount, notes: Sequence[Mapping[str, str]]) -> dict[str, int]:
    """The yearly counts of all grades together, by the column names of the yearly summary's table."""
    missed = [child.missed() for child in counted.children.values() if child.walks]
    steps: dict[str, set[str]] = {}
    for note in notes:
        steps.setdefault(note["child"], set()).add(note["step"])

    def noted(*wanted: str) -> int:
        return sum(bool(found & set(wanted)) for found in steps.values())

    return {
        "screened": len(missed),
        "missed_first": sum(days[0] for days in missed),
        "rescreened": sum(days[0] and len(days) > 1 for days in missed),
        "missed_second": sum(days[0] and len(days) > 1 and days[1] for days in missed),
        "threshold_tested": sum(bool(child.thresholds) for child in counted.children.values()),
        "referred": noted("sent"),
        "seen": noted("seen", "findings", "no-loss", "under-care"),
        "no_loss": noted("no-loss"),
        "lost": noted("lost", "moved"),
    }
