"""Which pairs are worth comparing: those that agree on at least one key. Keeps the work far below every-with-every.

A key's block that grows past ``CROWD`` is left out (a family name that half the school bears tells nothing);
the other keys still bring its pairs together. The recall is measured by tests/benchmarks/linkage.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations

from sync.matching.record import Record

CROWD = 60
THIN_CROWD = 12  # for keys of one field only


def keys(record: Record) -> Iterator[tuple[str, ...]]:
    """The keys under which a record is found; those of one field only begin with "thin"."""
    given, family, born = record.given, record.family, record.born
    if record.number:
        yield "number", record.number
    if born:
        yield "born", born.year, *sorted((born.month, born.day))
        for at in range(8):
            slip = born.digits[:at] + born.digits[at + 1 :]  # one digit off, or two exchanged: a shared slip
            if given:
                yield "slip", slip, given.sound[:1]
            if family:
                yield "slip", slip, family.sound[:1]
        for part in {*family.parts, *given.parts}:
            yield "part, year", part, born.year
            yield "part, day", part, born.month + born.day
    if given and family:
        yield "sounds", *sorted((given.sound, family.sound))
        for one, other in ((family, given), (given, family)):
            for at in range(len(one.whole)):
                yield "spelling", one.whole[:at] + one.whole[at + 1 :], other.whole[:1]
            yield "spelling", one.whole, other.whole[:1]
            yield "spelling", one.joined, other.whole[:1]
            for part in one.parts:
                yield "part", part, other.sound[:2]
    for whole in (family.whole, given.whole):
        if whole:
            yield "thin", whole


def candidates(records: Mapping[str, Record]) -> set[tuple[str, str]]:
    """The pairs of ids to compare, each once, smaller id first."""
    blocks: dict[tuple[str, ...], list[str]] = {}
    for identity in sorted(records):
        for key in set(keys(records[identity])):
            blocks.setdefault(key, []).append(identity)
    pairs: set[tuple[str, str]] = set()
    for key, members in blocks.items():
        if 1 < len(members) <= (THIN_CROWD if key[0] == "thin" else CROWD):
            pairs.update(combinations(members, 2))
    return pairs
