"""Two histories of one device, told apart: a tablet restored from an old copy goes on under numbers that it has used.

Both histories are kept, and both count. The first keeps its ids; those of another are read as ``45@device~2``, wherever
its own entries name them, so that no child and no result of the one hides behind the other's. What is stored and sent
stays as it was written. The same entries give the same histories, in whatever order they came.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from shared.records.entries import Entry, Kind

#: After these a test is not gone on with.
_ENDS = (Kind.SCREENING_FINISHED, Kind.SCREENING_STOPPED, Kind.THRESHOLD_FINISHED)


@dataclass(slots=True, eq=False)
class _History:
    """What one copy of the device wrote after the numbers were used again."""

    number: int
    before: Sequence[Entry]  # what it shares with the history that it was copied from
    own: dict[str, Entry] = field(default_factory=dict)
    newest: Entry | None = None

    @property
    def last(self) -> Entry | None:
        """The entry that its next one follows."""
        return self.newest or (self.before[-1] if self.before else None)

    def take(self, entry: Entry) -> None:
        self.own[entry.id] = entry
        self.newest = entry

    def read(self) -> list[Entry]:
        """Its entries as they are to be folded."""
        if self.number == 1:
            return list(self.own.values())
        # A test that was under way when the copy was made is gone on with in each history by itself.
        under_way = set(map(_test_of, self.own.values())) - self.own.keys() - {""}
        shared = [each for each in self.before if each.id in under_way or _test_of(each) in under_way]
        entries = [*shared, *self.own.values()]
        names = {each.id: f"{each.id}~{self.number}" for each in entries}
        return [each._replace(id=names[each.id], body=_renamed(each.body, names)) for each in entries]


def told_apart(variants: Iterable[Sequence[Entry]]) -> list[Entry]:
    """The entries of one device as they are to be folded; ``variants``: all known under each of its ids."""
    numbered = sorted(variants, key=lambda several: several[0].counter)
    fork = next((at for at, several in enumerate(numbered) if len(several) > 1), len(numbered))
    trunk = [entry for several in numbered[:fork] for entry in several]
    histories: list[_History] = []
    for several in numbered[fork:]:
        last = [(history, history.last) for history in histories]
        taken: set[int] = set()
        for entry in sorted(several, key=lambda each: (each.stamp, each.canonical())):
            goes_on = [
                (_follows(entry, end), _is_of(entry, history), *_nearness(entry, end), -history.number)
                for history, end in last
                if end is not None and end.stamp < entry.stamp and history.number not in taken
            ]
            copied = [
                (end.stamp, history.number)
                for history, end in last
                if end is not None and _follows(entry, end) and end.stamp < entry.stamp
            ]
            best = max(goes_on, default=None)
            if best is not None and (best[0] or not copied):
                number = -best[-1]
            else:
                number = len(histories) + 1
                parent = histories[max(copied)[1] - 1] if copied else None
                histories.append(_History(number, _up_to(parent, entry) if parent else trunk))
            histories[number - 1].take(entry)
            taken.add(number)
    under = {several[0].counter: several for several in numbered}
    for history in histories:
        _go_on(history, under)
    return [*trunk, *(entry for history in histories for entry in history.read())]


def _go_on(history: _History, under: Mapping[int, Sequence[Entry]]) -> None:
    """Where a history breaks off within a test, and another goes on with that very test, let it go on likewise: who
    wrote a false answer under a true number has not got rid of the true one. A test can only be read twice by it."""
    end = history.newest
    while end is not None and end.kind not in _ENDS:
        test = _test_of(end)
        following = (
            each
            for each in under.get(end.counter + 1, ())
            if test and _test_of(each) == test and each.child == end.child and end.stamp < each.stamp
        )
        end = min(following, key=lambda each: each.stamp, default=None)
        if end is not None:
            history.take(end)


def _follows(entry: Entry, end: Entry) -> bool:
    """Whether the entry has the number right after that one: a device leaves none out."""
    return entry.counter == end.counter + 1


def _nearness(entry: Entry, end: Entry) -> tuple[str, str]:
    """How well the entry follows that one. Where a clock is behind the lead's, stamps of both copies are the same; then
    the times that the device saw tell which of them went on."""
    return end.stamp, end.at if end.at <= entry.at else ""


def _is_of(entry: Entry, history: _History) -> bool:
    """Whether the entry is part of a test that this history began, of the same child."""
    begun = history.own.get(_test_of(entry))
    return begun is not None and begun.child == entry.child


def _test_of(entry: Entry) -> str:
    """The id of the screening or threshold test that the entry is a part of, or empty."""
    return str(entry.body.get("screening") or entry.body.get("test") or "")


def _up_to(history: _History, entry: Entry) -> list[Entry]:
    return [*history.before, *(each for each in history.own.values() if each.counter < entry.counter)]


def _renamed(value: Any, names: Mapping[str, str]) -> Any:
    """A body, or a part of one, with the history's own names for its own entries."""
    if isinstance(value, str):
        return names.get(value, value)
    if isinstance(value, list):
        return [_renamed(each, names) for each in value]
    if isinstance(value, Mapping):
        return {names.get(name, name): _renamed(each, names) for name, each in value.items()}
    return value
