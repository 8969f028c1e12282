"""What third records say about a pair: whether a strong pair is the only strong one, and which doubts are idle.

A pair is joined automatically only where nothing else could be meant: no rival nearly as strong that cannot be the
same child as well, and no member of the group it would make that contradicts another. A doubt is not put to a
person where its answer follows from what was joined, or where a heavier doubt asks the same question.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

from sync.matching import weights
from sync.matching.comparison import Evidence, Verdict, surely_two, verdict, weigh
from sync.matching.population import Population
from sync.matching.record import Record

Ids = tuple[str, str]


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
        self._apart = frozenset(apart)
        decided = self._apart.union(together)
        self._totals = {pair: each.weight + prior for pair, each in found.items()}
        self._found = {
            pair: each
            for pair, each in found.items()
            if self._totals[pair] >= weights.DOUBT and frozenset(pair) not in decided
        }
        self._partners: dict[str, list[str]] = {}
        for a, b in self._found:
            self._partners.setdefault(a, []).append(b)
            self._partners.setdefault(b, []).append(a)
        self._groups: dict[str, list[str]] = {}
        for pair in together:
            if len(pair) == 2 and pair <= records.keys():
                self._merge(*sorted(pair))

    def verdicts(self) -> Iterator[tuple[Ids, Evidence, float, Verdict]]:
        """Every pair that is automatic, then every doubt, with its log odds in bits."""
        heaviest_first = sorted(self._found, key=lambda pair: (-self._totals[pair], pair))
        doubts: list[Ids] = []
        for pair in heaviest_first:
            alone = verdict(self._found[pair], self._totals[pair])
            if alone == "automatic" and self._only_one(pair) and self._join(pair):
                yield pair, self._found[pair], self._totals[pair], "automatic"
            else:
                doubts.append(pair)
        asked: set[frozenset[int]] = set()
        for pair in doubts:
            question = frozenset(id(self._group(one)) for one in pair)
            if len(question) == 2 and question not in asked and not self._answered(pair):
                asked.add(question)
                yield pair, self._found[pair], self._totals[pair], "doubt"

    def _only_one(self, pair: Ids) -> bool:
        """No other record is nearly as like one of the two that may be another child than the other."""
        nearly = self._totals[pair] - weights.MARGIN
        return not any(
            rival != other and self._total(one, rival) >= nearly and self._two(other, rival)
            for one, other in (pair, pair[::-1])
            for rival in self._partners[one]
        )

    def _join(self, pair: Ids) -> bool:
        """Makes one group of the two groups, unless a member of one contradicts a member of the other."""
        first, second = self._group(pair[0]), self._group(pair[1])
        if first is second:
            return True
        if any(self._contradict(a, b) for a in first for b in second):
            return False
        self._merge(*pair)
        return True

    def _merge(self, a: str, b: str) -> None:
        first, second = self._group(a), self._group(b)
        if first is not second:
            first.extend(second)
            self._groups.update(dict.fromkeys(first, first))

    def _answered(self, pair: Ids) -> bool:
        """The groups taken whole speak against it: some members contradict each other, or most are unlike."""
        cross = [(a, b) for a in self._group(pair[0]) for b in self._group(pair[1])]
        if len(cross) == 1:
            return False
        unlike = sum(self._total(a, b) for a, b in cross) / len(cross) < weights.UNLIKE
        return unlike or any(self._contradict(a, b) for a, b in cross if {a, b} != set(pair))

    def _group(self, one: str) -> list[str]:
        return self._groups.setdefault(one, [one])

    def _contradict(self, a: str, b: str) -> bool:
        """Whether these two are surely two children: a person said so, the roster does, or everything."""
        if frozenset((a, b)) in self._apart:
            return True
        return surely_two(self._records[a], self._records[b]) or self._total(a, b) < weights.SURELY_NOT

    def _two(self, a: str, b: str) -> bool:
        """Whether these two may be two children, so that a record like both could be either."""
        return self._contradict(a, b) or weigh(self._records[a], self._records[b], self._population).twins

    def _total(self, a: str, b: str) -> float:
        pair = (a, b) if a < b else (b, a)
        if pair not in self._totals:
            self._totals[pair] = (
                weigh(self._records[pair[0]], self._records[pair[1]], self._population).weight + self._prior
            )
        return self._totals[pair]
