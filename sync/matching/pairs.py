"""The pairs among many people that may be one child: automatic where strong and unambiguous, else a doubt.

Third records are looked at only here. Input is a mapping of record ids to people; nothing is stored or joined.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Literal

from shared.records.standing import Person
from sync.matching import weights
from sync.matching.blocking import candidates
from sync.matching.comparison import NOWHERE, Evidence, probability, reasons, verdict, weigh
from sync.matching.population import Population
from sync.matching.record import Record, record


@dataclass(frozen=True, slots=True)
class Pair:
    """Two record ids (``a`` < ``b``) that may be one child, with the evidence in bits and in words."""

    a: str
    b: str
    weight: float
    probability: float
    verdict: Literal["automatic", "doubt"]
    reasons: tuple[str, ...]


def find_pairs(people: Mapping[str, Person], *, apart: Collection[frozenset[str]] = ()) -> list[Pair]:
    """Every pair that is automatic or a doubt, heaviest first. Pairs in ``apart`` were decided: never again."""
    records = {identity: record(person) for identity, person in people.items()}
    population = Population(records.values())
    prior = population.prior_bits
    decided = set(apart)
    found: dict[tuple[str, str], Evidence] = {}
    for pair in candidates(records):
        evidence = weigh(records[pair[0]], records[pair[1]], population)
        if evidence.weight + prior >= weights.DOUBT_BITS and frozenset(pair) not in decided:
            found[pair] = evidence
    rivals: dict[str, int] = {}
    for pair, evidence in found.items():
        if evidence.weight + prior >= 0:
            for one in pair:
                rivals[one] = rivals.get(one, 0) + 1
    pairs = []
    for (a, b), evidence in found.items():
        total = evidence.weight + prior
        alone = verdict(evidence, total)
        if alone == "different":
            continue
        if alone == "automatic" and max(rivals[a], rivals[b]) > 1:
            alone = "doubt"
        pairs.append(_pair(a, b, records[a], records[b], evidence, total, alone))
    return sorted(pairs, key=lambda pair: (-pair.weight, pair.a, pair.b))


def lookalikes(person: Person, people: Mapping[str, Person], limit: int = 5) -> list[Pair]:
    """The people most like ``person``, for a warning while a child is added; ``a`` is empty, ``b`` their id."""
    one = record(person)
    pairs = []
    for identity, each in people.items():
        other = record(each)
        if not _worth_comparing(one, other):
            continue
        evidence = weigh(one, other, NOWHERE)
        total = evidence.weight + NOWHERE.prior_bits
        alone = verdict(evidence, total)
        if alone != "different":
            pairs.append(_pair("", identity, one, other, evidence, total, alone))
    return sorted(pairs, key=lambda pair: (-pair.weight, pair.b))[:limit]


def _worth_comparing(a: Record, b: Record) -> bool:
    """A cheap look before the careful one."""
    return (
        a.born.digits == b.born.digits
        or a.family.sound[:2] == b.family.sound[:2]
        or a.given.sound[:2] == b.given.sound[:2]
        or a.family.sound[:2] == b.given.sound[:2]
    )


def _pair(
    a: str, b: str, first: Record, second: Record, evidence: Evidence, total: float, alone: str
) -> Pair:
    return Pair(
        a,
        b,
        round(evidence.weight, 2),
        probability(total),
        "automatic" if alone == "automatic" else "doubt",
        reasons(first, second, evidence),
    )
