"""Doubts: what only a person may decide. Found anew from the register each time, never stored.

A doubt's id depends only on what it is about, so every device gives it the same one. Deciding writes entries,
which combine like all others; how they are written is the caller's part.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from shared.errors import Refused
from shared.records.entries import Kind
from shared.records.people import standing_decisions
from shared.records.register import Register
from shared.records.standing import Standing, Status
from sync.matching import Pair, compare


class DoubtKind(StrEnum):
    """What a doubt is about."""

    SAME_CHILD = "same-child"
    RESULTS_DISAGREE = "results-disagree"
    TWO_ENTRIES = "two-entries-one-id"
    SHARED_HANDOUT = "shared-handout"
    OLDER_COPY = "older-copy"
    WRONG_CLOCK = "wrong-clock"
    CONTRADICTION = "contradiction"


@dataclass(frozen=True, slots=True)
class Doubt:
    """One open question. ``subjects`` are record ids, or device ids for doubts about a tablet.

    ``decisions`` are the words that ``settle`` takes, each with its meaning.
    """

    id: str
    kind: DoubtKind
    question: str
    subjects: tuple[str, ...]
    reasons: tuple[str, ...]
    decisions: Mapping[str, str]


_ONE_OR_TWO = {"one": "They are one child: join them.", "two": "They are two children: keep both."}
_NOTED = {"noted": "Seen and taken care of."}


def doubt_id(kind: DoubtKind, subjects: Iterable[str]) -> str:
    """A short id that depends only on the kind and the subjects (in any order)."""
    digest = hashlib.sha256("|".join([kind, *sorted(subjects)]).encode()).hexdigest()
    return f"d{digest[:8]}"


def find_doubts(
    register: Register, pairs: Sequence[Pair], about_devices: Sequence[Doubt] = ()
) -> list[Doubt]:
    """Every open doubt, those about children first.

    ``pairs`` are the matcher's pairs; ``about_devices`` the doubts about tablets that the book has noticed.
    """
    settled = {
        str(entry.body.get("doubt"))
        for entry in register.entries(Kind.DOUBT_SETTLED)
        if register.stands(entry.id)
    }
    found = [
        *_same_child(register, pairs),
        *_by_number_alone(register),
        *(_disagreement(register, standing) for standing in register.standings() if standing.disagreeing),
        *_contradictions(register),
        *_two_entries(register),
        *about_devices,
    ]
    return [doubt for doubt in found if doubt.id not in settled]


def _one_or_two(pair: tuple[str, str], reasons: Iterable[str]) -> Doubt:
    return Doubt(
        doubt_id(DoubtKind.SAME_CHILD, pair),
        DoubtKind.SAME_CHILD,
        "Is this one child or two?",
        pair,
        tuple(reasons),
        _ONE_OR_TWO,
    )


def _decided(register: Register) -> set[tuple[str, str]]:
    """The pairs that a person has decided."""
    return {decision.pair for decision in register.decisions if not decision.automatic}


def _same_child(register: Register, pairs: Sequence[Pair]) -> list[Doubt]:
    """The pairs that may be one child and are two here: also those that the evidence would join, but has not (a name
    was corrected since, say), lest a child counts twice without a word."""
    told = _decided(register).union(register.joining.contradictions)
    return [
        _one_or_two((pair.a, pair.b), pair.reasons)
        for pair in pairs
        if pair.b not in register.records_of(pair.a) and told.isdisjoint({(pair.a, pair.b), (pair.b, pair.a)})
    ]


def _by_number_alone(register: Register) -> list[Doubt]:
    """Records that one student number joins although everything else says two children: a number mistyped on the
    day makes another child's result this child's. They stay joined until a person has looked."""
    people, decided = register.people(), _decided(register)
    first: dict[str, str] = {}
    asked: list[Doubt] = []
    for record in sorted(people, key=lambda each: (people[each].added, each)):
        number = people[record].student_number
        other = first.setdefault(number, record) if number else record
        pair = (min(other, record), max(other, record))
        if other == record or pair in decided or other not in register.records_of(record):
            continue
        found = compare(*(replace(people[each], student_number="") for each in pair))
        if found.verdict == "different":
            asked.append(_one_or_two(pair, (*found.reasons, "only the student number says one child")))
    return asked


def find_joins(register: Register) -> list[Doubt]:
    """The joins that stand by the evidence alone, each as the doubt that it would be: "two" takes it apart."""
    made = standing_decisions(register.decisions)
    return [
        _one_or_two(pair, map(str, register.entry(made[pair].entry).body.get("evidence", ())))
        for pair in sorted(register.automatic_joins())
    ]


def _disagreement(register: Register, standing: Standing) -> Doubt:
    words = [
        "passed" if screening.passed else "did not pass"
        for screening in standing.screenings
        if screening.id in standing.disagreeing
    ]
    reasons = [f"screening {place}: {word}" for place, word in enumerate(words, 1)]
    noted = [register.entry(entry) for entry in standing.disagreeing]
    reasons += [
        f"not tested: {each.body['reason']}" for each in noted if each and each.kind is Kind.NOT_TESTED
    ]
    choices = (
        Status.PASSED,
        Status.RESCREEN,
        Status.THRESHOLD,
        Status.REFERRED,
        Status.DECLINED,
        Status.UNDER_CARE,
        Status.EAR_PROBLEM,
    )
    return Doubt(
        doubt_id(DoubtKind.RESULTS_DISAGREE, (standing.child, *standing.disagreeing)),
        DoubtKind.RESULTS_DISAGREE,
        "Results disagree. Which stands?",
        (standing.child,),
        (*reasons, f"until decided: {standing.status.value}"),
        {status.value: f"The child is: {status.value}." for status in choices},
    )


def _contradictions(register: Register) -> list[Doubt]:
    return [
        Doubt(
            doubt_id(DoubtKind.CONTRADICTION, pair),
            DoubtKind.CONTRADICTION,
            "Something says one child, a person said two. Which is it?",
            pair,
            ("joining these two would join records that a person has called different children",),
            _ONE_OR_TWO,
        )
        for pair in register.joining.contradictions
    ]


def _two_entries(register: Register) -> list[Doubt]:
    by_device: dict[str, int] = {}
    for entry_id in register.variants:
        device = entry_id.partition("@")[2]
        by_device[device] = by_device.get(device, 0) + 1
    return [
        Doubt(
            doubt_id(DoubtKind.TWO_ENTRIES, (device, str(count))),
            DoubtKind.TWO_ENTRIES,
            "A tablet wrote different entries under one number. Was it restored from an old copy?",
            (device,),
            (f"{count} numbers were used twice; both entries are kept",),
            _NOTED,
        )
        for device, count in sorted(by_device.items())
    ]


def decide(register: Register, doubt: Doubt, decision: str) -> list[tuple[Kind, dict[str, Any]]]:
    """The entries that settle the doubt so; raises ``Refused`` for a word that the doubt does not take."""
    if decision not in doubt.decisions:
        raise Refused(
            "That is no decision for this doubt.", todo=f"Say one of: {', '.join(doubt.decisions)}."
        )
    if doubt.kind in (DoubtKind.SAME_CHILD, DoubtKind.CONTRADICTION):
        kind = Kind.SAME_CHILD if decision == "one" else Kind.DIFFERENT_CHILD
        pairs = [doubt.subjects]
        if doubt.kind is DoubtKind.CONTRADICTION and decision == "one":
            pairs += _in_the_way(register, doubt.subjects)
        more = {"evidence": list(doubt.reasons), "doubt": doubt.id}
        return [(kind, {"records": list(pair), **more}) for pair in pairs]
    if doubt.kind is DoubtKind.RESULTS_DISAGREE:
        standing = register.standing(doubt.subjects[0])
        seen = [s.id for s in standing.screenings if s.passed is not None]
        body = {"child": standing.child, "status": decision, "seen": seen, "found": list(standing.found)}
        return [(Kind.RESULT_RULED, {**body, "doubt": doubt.id})]
    return [(Kind.DOUBT_SETTLED, {"doubt": doubt.id, "decision": decision})]


def _in_the_way(register: Register, subjects: Sequence[str]) -> list[tuple[str, ...]]:
    """The pairs that a person has called two children, between the two groups of records that are one child now."""
    one, other = (register.records_of(each) for each in subjects)
    between = {(min(a, b), max(a, b)) for a in one for b in other}.difference(
        {(min(subjects), max(subjects))}
    )
    standing = standing_decisions(register.decisions)
    told = ((pair, standing[pair]) for pair in sorted(between & standing.keys()))
    return [pair for pair, decision in told if not decision.same and not decision.automatic]


def take_back(register: Register, doubt_id: str) -> list[tuple[Kind, dict[str, Any]]]:
    """The entry that undoes the newest decision on a doubt; raises ``Refused`` where none stands."""
    kinds = (Kind.SAME_CHILD, Kind.DIFFERENT_CHILD, Kind.RESULT_RULED, Kind.DOUBT_SETTLED)
    made = [
        entry
        for entry in register.entries(*kinds)
        if entry.body.get("doubt") == doubt_id and register.stands(entry.id)
    ]
    if not made:
        raise Refused("There is no decision on that doubt to take back.", todo="List the doubts again.")
    newest = made[-1]
    # One decision may have taken several entries, all written at once.
    parts = [
        each for each in made if (each.kind, each.at, each.device) == (newest.kind, newest.at, newest.device)
    ]
    return [
        (Kind.DECISION_WITHDRAWN, {"decision": each.id, "children": list(each.subjects)}) for each in parts
    ]
