"""Which pairs are worth comparing: those that agree on at least one key. Keeps the work far below every-with-every.

A key's block that grows past ``CROWD`` is left out (a family name that half the school bears tells nothing);
the other keys still bring its pairs together. The recall is measured by tests/benchmarks/linkage.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sync.matching.record import Record

CROWD = 60


def keys(record: Record) -> Iterator[tuple[str, ...]]:
    """The keys under which a record is found."""
    given, family, born = record.given, record.family, record.born
    if record.number:
        yield "number", record.number
    if born:
        yield "born", born.year, *sorted((born.month, born.day))
        for at in range(2, 8):
            masked = born.digits[:at] + "?" + born.digits[at + 1 :]
            if given:
                yield "masked given", masked, given.sound[:1]
            if family:
                yield "masked family", masked, family.sound[:1]
        for part in {*family.parts, *given.parts}:
            yield "part, year", part, born.year
            yield "part, day", part, born.month + born.day
    if given and family:
        first, second = sorted((given.sound, family.sound))
        yield "sounds", first, second
        yield "whole, initial", family.whole, given.whole[:1]
        yield "whole, initial", given.whole, family.whole[:1]
        for part in family.parts:
            yield "part, given", part, given.sound[:2]
        for part in given.parts:
            yield "given, part", part, family.sound[:2]


def candidates(records: Mapping[str, Record]) -> set[tuple[str, str]]:
    """The pairs of ids to compare, each once, smaller id first."""
    blocks: dict[tuple[str, ...], list[str]] = {}
    for identity, each in records.items():
        for key in set(keys(each)):
            blocks.setdefault(key, []).append(identity)
    pairs: set[tuple[str, str]] = set()
    for members in blocks.values():
        if 1 < len(members) <= CROWD:
            for at, first in enumerate(members):
                for second in members[at + 1 :]:
                    pairs.add((first, second) if first < second else (second, first))
    return pairs
