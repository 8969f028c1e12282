"""How common each agreement is among the people at hand: a rare name shared says more than a frequent one.

Two kinds of figures. How often two different children share this very name, birth date or postcode: its share of
the people, drawn towards a shipped rarity where they are few. How often two different children are this much
alike without being equal: counted on pairs met at random, drawn towards the shipped figure. No decisions here.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from random import Random
from typing import TypeVar

from sync.matching import weights
from sync.matching.dates import Birth, BirthDate, birth_level
from sync.matching.distance import one_off
from sync.matching.names import Level, Name, family_level, given_level
from sync.matching.nicknames import borne
from sync.matching.record import Record

SAMPLED_PAIRS = 10_000
L = TypeVar("L")


class Values:
    """How many children bear each value of one field.

    Counted once for each ``(value, mark)``: the mark is what tells two bearers apart, roughly, so that a child
    listed five times does not make its own name look common.
    """

    def __init__(self, values: Iterable[tuple[str, str]]) -> None:
        self.counts = Counter(value for value, _ in set(values) if value)
        self.total = self.counts.total()

    def share(self, value: str, shipped: float, *, mine: int) -> float:
        """The value's share, without ``mine`` of its bearers (the one or two compared), drawn towards ``shipped``."""
        others, known = max(self.counts[value] - mine, 0), max(self.total - mine, 0)
        return (others + shipped * weights.PSEUDO_RECORDS) / (known + weights.PSEUDO_RECORDS)

    def usual(self, shipped: float) -> float:
        """How often two people met at random share a value, drawn towards ``shipped``."""
        alike = sum(count * (count - 1) for count in self.counts.values()) / max(self.total - 1, 1)
        return (alike + shipped * weights.PSEUDO_RECORDS) / (self.total + weights.PSEUDO_RECORDS)


class Population:
    """What is known of ``records`` together; with none, the shipped figures stand."""

    def __init__(self, records: Sequence[Record] = ()) -> None:
        self._given_listed = Counter(each.given.whole for each in records)
        self._family_listed = Counter(each.family.whole for each in records)
        self._given = Values((each.given.whole, told_apart_by(each)) for each in records)
        self._family = Values((each.family.whole, told_apart_by(each)) for each in records)
        self._usual_given = self._given.usual(weights.SHARED_NAME)
        self._usual_family = self._family.usual(weights.SHARED_NAME)
        self._year = Values((each.born.year, _beginnings(each)) for each in records)
        self._day = Values((each.born.digits[4:], _beginnings(each)) for each in records)
        self._postcode = Values((each.postcode, told_apart_by(each)) for each in records)
        pairs = list(_met_at_random(records))
        self.given_u = _drawn(weights.GIVEN, (self.given_level(a.given, b.given) for a, b in pairs))
        self.family_u = _drawn(weights.FAMILY, (self.family_level(a.family, b.family) for a, b in pairs))
        self.birth_u = _drawn(weights.BIRTH, (birth_level(a.born, b.born) for a, b in pairs))
        self.postcode_u = _drawn(
            weights.POSTCODE, (self.postcode_level(a.postcode, b.postcode) for a, b in pairs)
        )

    def given_level(self, a: Name, b: Name) -> Level:
        """The level of two given names; one letter off is a slip where one spelling is no known name here."""
        level = given_level(a, b)
        if level == Level.ONE_OFF and not (self.known_given(a) and self.known_given(b)):
            return Level.SLIP
        return level

    def family_level(self, a: Name, b: Name) -> Level:
        """The level of two family names; one letter off is a slip where nobody else here bears one of them."""
        level = family_level(a, b)
        if level == Level.ONE_OFF and min(self._family_listed[a.whole], self._family_listed[b.whole]) < 2:
            return Level.SLIP
        return level

    def known_given(self, name: Name) -> bool:
        """Whether this is a given name rather than a slip: children here, or in general, bear it; initials count."""
        return self._given_listed[name.whole] > 1 or all(len(part) < 3 or borne(part) for part in name.parts)

    def rather_given(self, a: Name, b: Name) -> bool:
        """Whether these two, found in exchanged places, are given names rather than family names."""
        names = {a.whole, b.whole}
        lean = sum(self._given_listed[each] - self._family_listed[each] for each in names)
        return lean + 2 * any(borne(each) for each in names) > 0

    def given_chance(self, a: Name, b: Name, level: Level, mine: int = 2) -> float:
        """How often two different children's given names agree this much."""
        return self._chance(self._given, self._usual_given, self.given_u, a, b, level, mine)

    def family_chance(self, a: Name, b: Name, level: Level, mine: int = 2) -> float:
        """How often two different children's family names agree this much."""
        return self._chance(self._family, self._usual_family, self.family_u, a, b, level, mine)

    def _chance(
        self,
        names: Values,
        usual: float,
        by_level: dict[Level, float],
        a: Name,
        b: Name,
        level: Level,
        mine: int,
    ) -> float:
        if level == Level.SAME:
            return names.share(a.whole, weights.SHARED_NAME, mine=mine)
        if level == Level.SLIP:
            # More children bear the name, so more of their slips look like this one.
            share = max(names.share(each.whole, weights.SHARED_NAME, mine=1) for each in (a, b))
            return by_level[level] * min(max(share / usual, 0.1), 5.0)
        return by_level.get(level, 1.0)

    def birth_chance(self, born: BirthDate, level: Birth) -> float:
        """How often two different children's birth dates agree this much.

        For the same date: the year's share times the day's. Placeholders are thereby as common as they are here,
        and a child listed twice does not make its own birth date look common.
        """
        if level != Birth.SAME:
            return self.birth_u[level]
        day = weights.SHARED_PLACEHOLDER if born.placeholder else weights.SHARED_DAY
        year = self._year.share(born.year, weights.SHARED_YEAR, mine=1)
        return year * self._day.share(born.digits[4:], day, mine=1)

    def postcode_level(self, a: str, b: str) -> str:
        """ "same", "one off" or "different"; empty where one is unknown."""
        if not (a and b):
            return ""
        return "same" if a == b else "one off" if one_off(a, b) else "different"

    def postcode_chance(self, postcode: str, level: str) -> float:
        """How often two different children's postcodes agree this much: a school's are few."""
        if level == "same":
            return self._postcode.share(postcode, weights.POSTCODE[level][1], mine=1)
        return self.postcode_u[level]


def _beginnings(record: Record) -> str:
    """What roughly tells two children born on one day apart: how their names begin, in any order."""
    return " ".join(sorted(record.starts))


def told_apart_by(record: Record) -> str:
    """What roughly tells two bearers of one name apart: the birth date; the names where there is none to rely on."""
    if record.born and not record.born.placeholder:
        return record.born.digits
    return " ".join(sorted((record.given.whole, record.family.whole)))


def _met_at_random(records: Sequence[Record]) -> Iterator[tuple[Record, Record]]:
    """Pairs of different records, the same ones whenever the records are the same."""
    if len(records) < 2:
        return
    chance = Random(len(records))
    for _ in range(min(SAMPLED_PAIRS, len(records) * (len(records) - 1) // 2)):
        a, b = chance.sample(records, 2)
        yield a, b


def _drawn(shipped: Mapping[L, tuple[float, float]], met: Iterable[L]) -> dict[L, float]:
    """How often each level is met between two children: counted, drawn towards the shipped figure."""
    counts = Counter(met)
    known = sum(counts[level] for level in shipped)
    return {
        level: (counts[level] + u * weights.PSEUDO_PAIRS) / (known + weights.PSEUDO_PAIRS)
        for level, (_, u) in shipped.items()
    }
