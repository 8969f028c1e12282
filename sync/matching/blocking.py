"""Which pairs are worth comparing: those that agree on at least one key. Keeps the work far below every-with-every.

A key's block that grows past ``CROWD`` is left out (a family name that half the school bears tells nothing);
the other keys still bring its pairs together. The recall is measured by tests/benchmarks/linkage.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import combinations, product

from sync.matching.record import Record

Key = tuple[object, ...]
CROWD = 60
THIN_CROWD = 12  # for keys of one field only


def keys(record: Record) -> Iterator[Key]:
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
    """The pairs of ids to compare, each once, smaller id first.

    Two children of the roster with numbers of their own are told apart by it (``surely_two``) unless name and
    birth date are the same, so among those only such pairs are made: a school without added children is one
    pass over its records.
    """
    of_roster = {identity for identity, each in records.items() if each.number and not each.added}
    loose: dict[Key, list[str]] = {}
    for identity in records.keys() - of_roster:
        for key in set(keys(records[identity])):
            loose.setdefault(key, []).append(identity)
    known: dict[Key, list[str]] = {}
    alike: dict[Key, list[str]] = {}
    for identity in of_roster:
        one = records[identity]
        for key in ("number", one.number), ("name, born", one.given.whole, one.born.digits):
            alike.setdefault(key, []).append(identity)
        if loose:
            for key in loose.keys() & set(keys(one)):
                known.setdefault(key, []).append(identity)
    pairs: set[tuple[str, str]] = set()
    for members in alike.values():
        if 1 < len(members) <= CROWD:
            pairs.update(combinations(members, 2))
    for key, members in loose.items():
        others = known.get(key, ())
        if len(members) + len(others) <= (THIN_CROWD if key[0] == "thin" else CROWD):
            pairs.update(combinations(members, 2))
            pairs.update(product(members, others))
    return {pair if pair[0] < pair[1] else (pair[1], pair[0]) for pair in pairs}
