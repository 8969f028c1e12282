"""The pairs among many people that may be one child: automatic where strong and unambiguous, else a doubt.

Third records are looked at only here. Input is a mapping of record ids to people; nothing is stored or joined.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from shared.records.standing import Person
from sync.matching import weights
from sync.matching.blocking import candidates
from sync.matching.comparison import (
    NOWHERE,
    ORDINARY_PRIOR,
    Evidence,
    Verdict,
    doubt_line,
    prior_bits,
    probability,
    reasons,
    surely_two,
    verdict,
    weigh,
)
from sync.matching.population import Population
from sync.matching.record import Record, record
from sync.matching.rivals import Rivals

SAID_NO = "whoever added the child was shown the other and said no"


@dataclass(frozen=True, slots=True)
class Pair:
    """Two record ids (``a`` < ``b``) that may be one child, with the evidence in bits and in words."""

    a: str
    b: str
    weight: float
    probability: float
    verdict: Literal["automatic", "doubt"]
    reasons: tuple[str, ...]


def find_pairs(
    people: Mapping[str, Person],
    *,
    apart: Collection[frozenset[str]] = (),
    together: Collection[frozenset[str]] = (),
    denied: Collection[frozenset[str]] = (),
) -> list[Pair]:
    """Every pair that is automatic or a doubt, heaviest first.

    Pairs that a person decided, to be two children (``apart``) or one (``together``), are not given again, and no
    automatic join brings together by way of others what the decisions hold apart. Where whoever added a child saw
    the other and said no (``denied``), the evidence alone joins nothing either, but the lead is asked.
    """
    records = {identity: record(people[identity]) for identity in sorted(people)}
    population = Population(list(records.values()))
    found = {
        (a, b): weigh(records[a], records[b], population)
        for a, b in candidates(records)
        if not surely_two(records[a], records[b])
    }
    prior = _prior([each.weight for each in found.values()], len(records))
    said_no = frozenset(denied).difference(apart, together)
    pairs = [
        _pair((a, b), records[a], records[b], evidence, total, decided)
        for (a, b), evidence, total, decided in Rivals(
            records, population, prior, found, said_no.union(apart), together
        ).verdicts()
    ]
    pairs += [
        replace(pair, reasons=(*pair.reasons, SAID_NO))
        for (a, b), evidence in found.items()
        if frozenset((a, b)) in said_no and evidence.weight + prior >= doubt_line(records[a], records[b])
        for pair in [_pair((a, b), records[a], records[b], evidence, evidence.weight + prior, "doubt")]
    ]
    return sorted(pairs, key=_heaviest_first)


def lookalikes(person: Person, people: Mapping[str, Person], limit: int = 5) -> list[Pair]:
    """The people most like ``person``, for a warning while a child is added; ``a`` is empty, ``b`` their id.

    Each is judged by itself, as if from an ordinary school, so that it answers while one types.
    """
    one = record(person)
    pairs = []
    for identity, each in people.items():
        other = record(each)
        if one.starts.isdisjoint(other.starts) and not (one.born and one.born.digits == other.born.digits):
            continue
        evidence = weigh(one, other, NOWHERE)
        total = evidence.weight + ORDINARY_PRIOR
        alone = verdict(evidence, total)
        if alone != "different":
            pairs.append(_pair(("", identity), one, other, evidence, total, alone))
    return sorted(pairs, key=_heaviest_first)[:limit]


def _prior(evidence: Collection[float], size: int) -> float:
    """The log odds that two records are one child, from how many pairs the evidence itself speaks for."""
    every = max(size * (size - 1) / 2, 1)
    ordinary = probability(prior_bits(size))
    chance = ordinary
    ratios = [2.0 ** min(each, 200.0) for each in evidence]
    for _ in range(50):
        odds = chance / (1 - chance)
        matches = sum(odds * each / (odds * each + 1) for each in ratios)
        last, chance = (
            chance,
            (matches + weights.EXPECTED_WORTH) / (every + weights.EXPECTED_WORTH / ordinary),
        )
        if abs(chance - last) < 1e-4 * last:
            break
    return weights.bits(chance, 1 - chance)


def _heaviest_first(pair: Pair) -> tuple[float, str, str]:
    return -pair.weight, pair.a, pair.b


def _pair(
    ids: tuple[str, str], a: Record, b: Record, evidence: Evidence, total: float, decided: Verdict
) -> Pair:
    return Pair(
        *ids,
        weight=round(evidence.weight, 2),
        probability=probability(total),
        verdict="automatic" if decided == "automatic" else "doubt",
        reasons=reasons(a, b, evidence),
    )
