"""What third records say about a pair: whether a strong pair is the only strong one, and which doubts are idle.

A pair is joined automatically only where nothing else could be meant: no rival nearly as strong that cannot be the
same child as well, and no member of the group it would make that contradicts another. Groups of records are weighed
whole, and with how many records the children have here. A doubt is not put to a person where its answer follows
from what was joined, or from heavier doubts.
"""

from __future__ import annotations

from collections.abc import Collection, Generator, Iterable, Iterator, Mapping
from math import inf

from sync.matching import weights
from sync.matching.comparison import (
    Evidence,
    Verdict,
    doubt_line,
    line,
    surely_two,
    two_on_the_roster,
    verdict,
    weigh,
)
from sync.matching.listings import Listings
from sync.matching.names import Level
from sync.matching.population import Population
from sync.matching.record import Record

Ids = tuple[str, str]
Answer = tuple[Ids, Evidence, float, Verdict]


class Rivals:
    """The pairs found among ``records``, and the groups that the automatic ones make."""

    def __init__(
        self,
        records: Mapping[str, Record],
        population: Population,
        prior: float,
        found: Mapping[Ids, Evidence],
        apart: Collection[frozenset[str]],
        together: Collection[frozenset[str]] = (),
    ) -> None:
        self._records = records
        self._population = population
        self._prior = prior
        self._listings: Listings | None = None
        self._means: dict[frozenset[int], float] = {}  # between two groups as they are
        self._apart = frozenset(apart)
        decided = self._apart.union(together)
        self._totals = {pair: each.weight + prior for pair, each in found.items()}
        self._found = {
            pair: each
            for pair, each in found.items()
            if self._totals[pair] >= weights.DOUBT - weights.LISTED_MORE and frozenset(pair) not in decided
        }
        self._partners: dict[str, list[str]] = {}
        for a, b in self._found:
            self._partners.setdefault(a, []).append(b)
            self._partners.setdefault(b, []).append(a)
        self._groups: dict[str, list[str]] = {}
        for pair in together:
            if len(pair) == 2 and pair <= records.keys():
                self._merge(*sorted(pair))

    def verdicts(self) -> Iterator[Answer]:
        """Every pair that is automatic, then every doubt, with its log odds in bits.

        A second look at what the first left over knows how many records the children have here.
        """
        left = yield from self._joins(self._found)
        self._listings = Listings(self._sizes())
        left = yield from self._joins(left)
        yield from self._questions(left)

    def _joins(self, pairs: Iterable[Ids]) -> Generator[Answer, None, list[Ids]]:
        """Joins what is strong, unambiguous and contradicts nothing, heaviest first; returns the rest."""
        left: list[Ids] = []
        for total, pair in self._heaviest_first(pairs, weights.LISTED_JOINS):
            alone = verdict(self._found[pair], total)
            if alone == "automatic" and self._only_one(pair) and self._join(pair):
                yield pair, self._found[pair], total, "automatic"
            else:
                left.append(pair)
        return left

    def _questions(self, pairs: Iterable[Ids]) -> Iterator[Answer]:
        """One question between two groups, about the pair that is most alike; none that a heavier one answers.

        Where the answer to that is "two children", the other question is asked then.
        """
        asked: dict[str, str] = {}

        def lead(one: str) -> str:
            while (other := asked.get(one, one)) != one:
                one = other
            return one

        for total, pair in self._heaviest_first(pairs, weights.LISTED_MORE):
            one, other = (lead(self._group(each)[0]) for each in pair)
            if one != other and total >= doubt_line(*(self._records[each] for each in pair)):
                asked[one] = other
                yield pair, self._found[pair], total, "doubt"

    def _heaviest_first(self, pairs: Iterable[Ids], most: float) -> list[tuple[float, Ids]]:
        """The pairs with the log odds of their groups; of two groups, the pair that is most alike first."""
        totals = [(self._total_of_groups(pair, most), pair) for pair in pairs]
        return sorted(totals, key=lambda each: (-each[0], -self._totals[each[1]], each[1]))

    def _only_one(self, pair: Ids) -> bool:
        """No other record is nearly as like one of the two that may be another child than the other."""
        nearly = self._totals[pair] - weights.MARGIN
        return not any(
            rival != other
            and self._total(one, rival) >= nearly
            and not self._plainly(pair, _ordered(one, rival))
            and self._two(other, rival)
            for one, other in (pair, pair[::-1])
            for rival in self._partners[one]
        )

    def _plainly(self, pair: Ids, rival: Ids) -> bool:
        """The given name is the same and the rival's is none that might be meant by it: Elisa is not Eliza."""
        return self._found[pair].given == Level.SAME and self._found[rival].given > Level.PART

    def _join(self, pair: Ids) -> bool:
        """Makes one group of the two groups, unless a member of one contradicts one of the other, or most do."""
        first, second = self._group(pair[0]), self._group(pair[1])
        if first is second:
            return True
        if any(self._contradict(a, b) for a in first for b in second):
            return False
        if self._total_of_groups(pair, weights.LISTED_JOINS) < line(self._found[pair]):
            return False
        self._merge(*pair)
        return True

    def _merge(self, a: str, b: str) -> None:
        first, second = self._group(a), self._group(b)
        if first is not second:
            self._means.clear()
            first.extend(second)
            self._groups.update(dict.fromkeys(first, first))

    def _total_of_groups(self, pair: Ids, most: float) -> float:
        """Log odds, in bits, that the groups of these two are one child; ``most``: how far the listings may speak for.

        The other members are heard as well: a slip sets one record apart from all, another child differs from
        most. And where either side has two records that agree among themselves, a slip would have to be repeated.
        """
        first, second = self._group(pair[0]), self._group(pair[1])
        total = self._totals[pair]
        if first is second:
            return total
        if len(first) * len(second) > 1:
            total += weights.HEARD * (self._mean_between(first, second) - total)
        if min(len(first), len(second)) > 1:
            return total - weights.REPEATED
        if self._listings is None:
            return total
        known = self._listings.prior_bits(max(len(first), len(second))) - self._prior
        return total + min(max(known, weights.LISTED_LESS), most)

    def _mean_between(self, first: list[str], second: list[str]) -> float:
        """The mean of the members' log odds, in bits; minus infinity where two of them were told apart."""
        groups = frozenset((id(first), id(second)))
        if groups not in self._means:
            totals = [
                -inf if self._told_apart(a, b) else max(self._total(a, b), weights.SURELY_NOT)
                for a in first
                for b in second
            ]
            self._means[groups] = sum(totals) / len(totals)
        return self._means[groups]

    def _sizes(self) -> list[int]:
        """How many records each group has."""
        groups = {id(group): len(group) for group in map(self._group, self._records)}
        return list(groups.values())

    def _group(self, one: str) -> list[str]:
        return self._groups.setdefault(one, [one])

    def _contradict(self, a: str, b: str) -> bool:
        """Whether these two are surely two children: a person said so, the roster does, or everything."""
        if self._told_apart(a, b) or self._total(a, b) < weights.SURELY_NOT:
            return True
        # Two numbers of the roster: only a person may join them, so nobody is both of them in silence.
        return two_on_the_roster(self._records[a], self._records[b])

    def _told_apart(self, a: str, b: str) -> bool:
        """Whether a person, or the roster, says that these two are two children."""
        return frozenset((a, b)) in self._apart or surely_two(self._records[a], self._records[b])

    def _two(self, a: str, b: str) -> bool:
        """Whether these two may be two children, so that a record like both could be either."""
        if self._group(a) is self._group(b):
            return False
        return self._contradict(a, b) or weigh(self._records[a], self._records[b], self._population).twins

    def _total(self, a: str, b: str) -> float:
        pair = _ordered(a, b)
        if pair not in self._totals:
            self._totals[pair] = (
                weigh(self._records[pair[0]], self._records[pair[1]], self._population).weight + self._prior
            )
        return self._totals[pair]


def _ordered(a: str, b: str) -> Ids:
    return (a, b) if a < b else (b, a)
