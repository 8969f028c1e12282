"""How far two spellings lie apart: plain string distances, nothing about names or people.

Both are checked in the tests against independent libraries. They run on folded names of a few letters, thousands
of times, so the frequent cases (equal, one letter off) are answered before any table is filled.
"""

from __future__ import annotations


def one_off(a: str, b: str) -> bool:
    """Whether one letter changed, missing, extra, or one neighbouring pair exchanged turns ``a`` into ``b``."""
    if a == b:
        return False
    if len(a) > len(b):
        a, b = b, a
    short, long = len(a), len(b)
    if long - short > 1:
        return False
    at = 0
    while at < short and a[at] == b[at]:
        at += 1
    if short < long:
        return a[at:] == b[at + 1 :]
    if a[at + 1 :] == b[at + 1 :]:
        return True
    return at + 1 < short and a[at] == b[at + 1] and a[at + 1] == b[at] and a[at + 2 :] == b[at + 2 :]


def edits(a: str, b: str, limit: int = 99) -> int:
    """Letters changed, missing, extra, and neighbours exchanged (optimal string alignment distance).

    Gives ``limit + 1`` as soon as the distance is known to be larger than ``limit``.
    """
    if a == b:
        return 0
    if abs(len(a) - len(b)) > limit:
        return limit + 1
    before: list[int] = []
    above = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        row = [i]
        for j, y in enumerate(b, 1):
            cost = min(above[j] + 1, row[j - 1] + 1, above[j - 1] + (x != y))
            if i > 1 and j > 1 and x == b[j - 2] and a[i - 2] == y:
                cost = min(cost, before[j - 2] + 1)
            row.append(cost)
        if min(row) > limit:
            return limit + 1
        before, above = above, row
    return min(above[-1], limit + 1)


def jaro(a: str, b: str) -> float:
    """Jaro's similarity, 0 to 1: shared letters near the same place, and how many of them are out of order."""
    if a == b:
        return 1.0
    if not a or not b:
        return 0.0
    reach = max(max(len(a), len(b)) // 2 - 1, 0)
    taken = [False] * len(b)
    shared: list[str] = []
    for i, x in enumerate(a):
        for j in range(max(0, i - reach), min(len(b), i + reach + 1)):
            if not taken[j] and b[j] == x:
                taken[j] = True
                shared.append(x)
                break
    if not shared:
        return 0.0
    others = (y for y, hit in zip(b, taken, strict=True) if hit)
    crossed = sum(x != y for x, y in zip(shared, others, strict=True)) // 2
    count = len(shared)
    return (count / len(a) + count / len(b) + (count - crossed) / count) / 3


def may_be_alike(a: str, b: str, likeness: float) -> bool:
    """A cheap look before the careful one: False only where neither can be.

    Neither ``jaro_winkler(a, b) >= likeness`` nor ``edits(a, b) <= 2`` is possible without enough shared letters.
    """
    shared = min(sum(map(b.__contains__, a)), sum(map(a.__contains__, b)))
    if shared >= max(len(a), len(b)) - 2:
        return True
    plain = (shared / len(a) + shared / len(b) + 1) / 3 if shared else 0.0
    return plain + 0.1 * _beginning(a, b) * (1 - plain) >= likeness


def _beginning(a: str, b: str) -> int:
    """How many of the first four letters both share."""
    for at, (x, y) in enumerate(zip(a[:4], b[:4], strict=False)):
        if x != y:
            return at
    return min(len(a), len(b), 4)


def jaro_winkler(a: str, b: str) -> float:
    """Jaro's similarity, raised for a shared beginning of up to four letters (Winkler 1990)."""
    plain = jaro(a, b)
    if plain <= 0.7:
        return plain
    return plain + _beginning(a, b) * 0.1 * (1 - plain)
