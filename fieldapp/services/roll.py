"""The roll: a tablet's or a book's children as lists, counts and the pace of the day. Pure over standings and
the register that they are read from."""

from __future__ import annotations

import unicodedata
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import lru_cache

from shared.errors import Refused
from shared.records.register import Register
from shared.records.standing import Standing, Status
from sync import matching

#: A screen shows no more rows than this; typing narrows them.
MOST_ROWS = 500
_PACE_OF = 20  # screenings that the pace is taken from


@dataclass(frozen=True, slots=True)
class Tally:
    """Where children stand, in four numbers that add up to ``total``.

    ``not_tested`` were seen and have no result: declined, under care, could not be tested, a visible ear problem.
    ``absent`` and ``not_seen`` are still owed a screening.
    """

    screened: int
    not_tested: int
    absent: int
    not_seen: int

    @property
    def total(self) -> int:
        """All of them."""
        return self.screened + self.not_tested + self.absent + self.not_seen

    @property
    def seen(self) -> int:
        """Those of whom anything was written down, absent ones too."""
        return self.total - self.not_seen


@dataclass(frozen=True, slots=True)
class ClassCount:
    """One class and where its children stand."""

    name: str
    tally: Tally
    left: int  # who waits to be tested today


@dataclass(frozen=True, slots=True)
class Progress:
    """The day so far; ``per_hour`` and ``finish_at`` are None until three children have been screened."""

    tally: Tally
    left: int  # who waits to be tested today
    per_hour: float | None
    finish_at: datetime | None


_RESULTS = (Status.PASSED, Status.RESCREEN, Status.THRESHOLD, Status.REFERRED)


def screened(standing: Standing) -> bool:
    """Whether a child has a result: a finished screening, or one that a person ruled."""
    return standing.status in _RESULTS or any(each.passed is not None for each in standing.screenings)


def tally(standings: Iterable[Standing]) -> Tally:
    """How many were screened, and how many not and why: who was only noted does not count as screened."""
    found = dict.fromkeys(("screened", "not_tested", "absent", "not_seen"), 0)
    alone = {Status.ABSENT: "absent", Status.NOT_SEEN: "not_seen"}
    for standing in standings:
        found["screened" if screened(standing) else alone.get(standing.status, "not_tested")] += 1
    return Tally(**found)


def standing_on_list(register: Register, child: str) -> Standing:
    """Where a child of a tablet's list stands; raises ``Refused`` for a child that it lacks."""
    try:
        return register.standing(child)
    except KeyError:
        raise Refused(
            "This tablet's list has no such child.", todo="Search again, or add the child."
        ) from None


def status_counts(standings: Iterable[Standing]) -> dict[Status, int]:
    """How many of them have each status; every status is named."""
    counted = Counter(standing.status for standing in standings)
    return {status: counted[status] for status in Status}


def on_the_roll(standings: Iterable[Standing]) -> list[Standing]:
    """The children that count: leavers of the roster only where they were seen."""
    return [s for s in standings if not s.person.left or s.status is not Status.NOT_SEEN]


def children_of(register: Register) -> list[Standing]:
    """Every child of a tablet or a book once; leavers of the roster only where they were seen."""
    return on_the_roll(register.standings())


def waits(standing: Standing, today: str = "") -> bool:
    """Whether a child waits to be tested on a day (ISO): not yet seen, absent on an earlier day, or due again.

    Without a day, only who was not seen waits.
    """
    if standing.status is Status.NOT_SEEN:
        return True
    if standing.status is Status.ABSENT:
        return standing.since[:10] < today
    if standing.status is not Status.RESCREEN or standing.window is None or standing.governing is None:
        return False
    return standing.window[0] <= today and standing.governing.begun_at[:10] < today


def class_counts(standings: Iterable[Standing], today: str = "") -> list[ClassCount]:
    """Every class with its counts, in order of grade and name."""
    classes: dict[str, list[Standing]] = {}
    for standing in standings:
        classes.setdefault(standing.person.class_name, []).append(standing)
    return [
        ClassCount(name, tally(of_class), sum(waits(each, today) for each in of_class))
        for name, of_class in sorted(classes.items(), key=lambda each: class_order(each[0]))
    ]


def rows_of(
    standings: Iterable[Standing],
    class_name: str | None = None,
    search: str = "",
    *,
    added: bool = False,
    by_name: bool = False,
    today: str = "",
    limit: int = MOST_ROWS,
) -> list[Standing]:
    """The children of a class, or whose names begin with what was typed; those who wait first, then by name.

    ``search`` needs two letters to act; accents and case do not matter; it looks through every class, and a child
    of several joined records is found by the name of each.
    ``by_name``: by name alone, as the office looks children up.
    """
    wanted = plain(search).split()
    searching = sum(map(len, wanted)) >= 2
    chosen = [
        standing
        for standing in standings
        if (searching or class_name is None or standing.person.class_name == class_name)
        and (not added or standing.person.added)
        and (not searching or any(_all_begin(name, wanted) for name in spellings(standing)))
    ]
    chosen.sort(key=name_order if by_name else lambda each: (not waits(each, today), *name_order(each)))
    return chosen[:limit]


def letters_after(standings: Iterable[Standing], typed: str) -> list[str]:
    """The letters, capital, with which a name word of someone goes on after the last word typed."""
    begun = plain(typed).split(" ")[-1]
    words = {word for standing in standings for name in spellings(standing) for word in name}
    return sorted({word[len(begun)].upper() for word in words if word.startswith(begun) and word != begun})


def spellings(standing: Standing) -> list[list[str]]:
    """The child's name in words as they are searched for, in plain small letters; first as it is shown, then as the
    other records of the same child have it."""
    names = ((standing.person.given, standing.person.family), *standing.also)
    return [_words(f"{given} {family}") for given, family in names]


def found_as(standing: Standing, search: str) -> tuple[str, str] | None:
    """The other (given, family) that a search found the child by; None where the name that is shown fits it."""
    wanted = plain(search).split()
    shown, *others = spellings(standing)
    if sum(map(len, wanted)) < 2 or _all_begin(shown, wanted):
        return None
    fits = (name for name, words in zip(standing.also, others, strict=True) if _all_begin(words, wanted))
    return next(fits, None)


def pace(ends: Sequence[datetime], told: Tally, left: int, now: datetime) -> Progress:
    """How far and how fast: ``ends`` are the sorted ends of the device's screenings of the day."""
    recent = ends[-_PACE_OF:]
    if len(recent) < 3 or recent[-1] <= recent[0]:
        return Progress(told, left, None, None)
    per_hour = (len(recent) - 1) * 3600 / (recent[-1] - recent[0]).total_seconds()
    return Progress(told, left, per_hour, now + timedelta(hours=left / per_hour))


@lru_cache(maxsize=50_000)
def plain(text: str) -> str:
    """Text without accents and case, for searching and sorting."""
    decomposed = unicodedata.normalize("NFKD", text)
    return "".join(c for c in decomposed if not unicodedata.combining(c)).casefold()


def forget() -> None:
    """Drop every name kept in memory for speed, here and in the matching; for when a store is shut."""
    plain.cache_clear()
    matching.forget()


def class_order(name: str) -> tuple[int, str]:
    """Sorts kindergarten before 1, 2 before 10, and children without a class last."""
    if not name:
        return (10_000, "")
    digits = name[: len(name) - len(name.lstrip("0123456789"))]
    early = {"P": -2, "T": -1, "K": 0}.get(name[0].upper(), 1_000)
    return (int(digits) if digits else early, name)


def name_order(standing: Standing) -> tuple[str, str]:
    """How lists are sorted: by family name, then by given name, accents and case aside."""
    return (plain(standing.person.family), plain(standing.person.given))


def _words(name: str) -> list[str]:
    return plain(name).replace("-", " ").replace("'", " ").split()


def _all_begin(words: Sequence[str], wanted: Sequence[str]) -> bool:
    return all(any(word.startswith(part) for word in words) for part in wanted)
