"""Which records are one child. Persons from entries, and the joining of records into children.

A join needs the same student number, a decision of a person, or strong automatic evidence that was written
down as an entry. The newest decision on a pair stands. Nothing joins two records that a person has called
different children; what would have is kept as a contradiction for a person to look at.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from shared.records.entries import Entry, Kind
from shared.records.standing import Person

_FIELD_OF = {"class": "class_name"}
_KNOWN = {field.name for field in fields(Person)} - {"added", "left"}
_LISTS = {"address", "due_reasons", "exemptions"}


def person_fields(values: Mapping[str, Any]) -> dict[str, Any]:
    """An entry's child fields as ``Person`` keywords; unknown fields are left out."""
    found: dict[str, Any] = {}
    for name, value in values.items():
        name = _FIELD_OF.get(name, name)
        if name in _KNOWN:
            found[name] = _texts(value) if name in _LISTS else str(value or "")
    return found


def _texts(value: Any) -> tuple[str, ...]:
    return tuple(map(str, value)) if isinstance(value, list | tuple) else ()


def person_body(person: Person) -> dict[str, Any]:
    """A ``Person`` as the body of a listing entry; empty fields are left out."""
    body: dict[str, Any] = {}
    for name in sorted(_KNOWN):
        value = getattr(person, name)
        if value:
            body["class" if name == "class_name" else name] = list(value) if name in _LISTS else value
    return body


def person_from(listing: Entry, changes: Iterable[Entry] = ()) -> Person:
    """The person that a listing entry and its later corrections (in stamp order) describe."""
    given = person_fields(listing.body)
    person = Person(
        given=given.pop("given", ""),
        family=given.pop("family", ""),
        added=listing.kind is Kind.CHILD_ADDED,
        **given,
    )
    for change in changes:
        if change.kind is Kind.CHILD_CORRECTED:
            person = replace(person, left=False, **person_fields(change.body.get("fields", {})))
        elif change.kind is Kind.CHILD_LEFT:
            person = replace(person, left=True)
    return person


@dataclass(frozen=True, slots=True)
class Correction:
    """One field that a correcting entry changed; ``before`` and ``after`` as shown, lines joined by "; "."""

    field: str  # a name of ``Person``
    before: str
    after: str
    at: str
    author: str


def corrections(listing: Entry, changes: Iterable[Entry]) -> list[Correction]:
    """What was changed of a listed or added child since, in stamp order; earlier values are never lost."""
    found: list[Correction] = []
    person = person_from(listing)
    for change in changes:
        if change.kind is not Kind.CHILD_CORRECTED:
            continue
        after = replace(person, **person_fields(change.body.get("fields", {})))
        found += [
            Correction(name, _shown(person, name), _shown(after, name), change.at, change.author)
            for name in sorted(_KNOWN)
            if getattr(person, name) != getattr(after, name)
        ]
        person = after
    return found


def _shown(person: Person, name: str) -> str:
    value = getattr(person, name)
    return "; ".join(value) if isinstance(value, tuple) else str(value)


@dataclass(frozen=True, slots=True)
class Decision:
    """A written decision on a pair of records."""

    pair: tuple[str, str]
    same: bool
    automatic: bool
    stamp: str
    entry: str

    @classmethod
    def from_entry(cls, entry: Entry) -> Decision | None:
        """The decision that a same-child or different-child entry holds, or None if it names no pair."""
        records = entry.body.get("records")
        if not isinstance(records, list) or len(records) != 2 or records[0] == records[1]:
            return None
        first, second = sorted(map(str, records))
        automatic = bool(entry.body.get("automatic"))
        return cls((first, second), entry.kind is Kind.SAME_CHILD, automatic, entry.stamp, entry.id)


@dataclass(frozen=True, slots=True)
class Joining:
    """How records make children: ``groups`` of record ids, and the pairs that contradict a person."""

    groups: tuple[tuple[str, ...], ...]
    contradictions: tuple[tuple[str, str], ...]


def standing_decisions(decisions: Iterable[Decision]) -> dict[tuple[str, str], Decision]:
    """The decision that stands for each pair: a person's before an automatic one, then the newest."""
    standing: dict[tuple[str, str], Decision] = {}
    for decision in sorted(decisions, key=lambda d: (not d.automatic, d.stamp)):
        standing[decision.pair] = decision
    return standing


def join(numbers: Mapping[str, str], decisions: Iterable[Decision]) -> Joining:
    """Join records into children. ``numbers``: student number (or empty) of every record."""
    standing = standing_decisions(decisions)
    # An automatic "different" only takes an automatic join back; it forbids nothing.
    apart = [pair for pair, decision in standing.items() if not decision.same and not decision.automatic]
    edges = [
        (pair, (0, decision.stamp) if not decision.automatic else (2, decision.stamp))
        for pair, decision in standing.items()
        if decision.same and pair[0] in numbers and pair[1] in numbers
    ]
    by_number: dict[str, str] = {}
    for record in sorted(numbers):
        number = numbers[record]
        if number and by_number.setdefault(number, record) != record:
            edges.append(((by_number[number], record), (1, number)))
    leader = {record: record for record in numbers}
    members = {record: [record] for record in numbers}
    foes: dict[str, set[str]] = {record: set() for record in numbers}
    for a, b in apart:
        if a in foes and b in foes:
            foes[a].add(b)
            foes[b].add(a)
    contradictions: list[tuple[str, str]] = []
    for (a, b), _ in sorted(edges, key=lambda edge: (edge[1], edge[0])):
        a_lead, b_lead = leader[a], leader[b]
        if a_lead == b_lead:
            continue
        if any(foes[record] & set(members[b_lead]) for record in members[a_lead]):
            contradictions.append((a, b))
            continue
        if len(members[a_lead]) < len(members[b_lead]):
            a_lead, b_lead = b_lead, a_lead
        for record in members[b_lead]:
            leader[record] = a_lead
        members[a_lead] += members.pop(b_lead)
    told = tuple(pair for pair in contradictions if _is_news(pair, standing))
    return Joining(tuple(sorted(tuple(sorted(group)) for group in members.values())), told)


def _is_news(pair: tuple[str, str], standing: Mapping[tuple[str, str], Decision]) -> bool:
    """Whether a refused edge is more than the very pair that a person has already decided."""
    first, second = sorted(pair)
    decision = standing.get((first, second))
    return decision is None or decision.same or decision.automatic
