"""The reference merge: tiny, slow, and meant to be obviously right. The register must agree with it."""

from __future__ import annotations

from shared.hearing.protocol import Protocol
from shared.records.entries import Kind
from shared.records.fold import fold_child
from shared.records.histories import told_apart
from shared.records.people import person_from


def merge(*bags):
    """All entries of all bags once; the histories of a device that used an id twice told apart."""
    once = {entry.canonical(): entry for bag in bags for entry in bag}.values()
    merged = []
    for device in {entry.device for entry in once}:
        under = {}
        for entry in once:
            if entry.device == device:
                under.setdefault(entry.id, []).append(entry)
        doubled = any(len(several) > 1 for several in under.values())
        merged += told_apart(under.values()) if doubled else [only for (only,) in under.values()]
    return merged


def standings(entries, kept=lambda standing: True):
    """Where every child stands, from merged entries."""
    protocol = Protocol.from_dict(
        newest(e for e in entries if e.kind is Kind.VISIT_PREPARED).body["protocol"]
    )
    listings = {e.id: e for e in entries if e.kind in (Kind.CHILD_LISTED, Kind.CHILD_ADDED)}
    groups = [{record} for record in sorted(listings)]
    apart, edges = decided(entries, listings)
    for a, b in edges:
        of_a = next(group for group in groups if a in group)
        of_b = next(group for group in groups if b in group)
        both = of_a | of_b
        if of_a is not of_b and not any({x, y} in apart for x in both for y in both):
            groups = [group for group in groups if group not in (of_a, of_b)] + [both]
    return [
        fold_child(sorted(group), [e for e in entries if group & set(e.subjects)], protocol)
        for group in groups
    ]


def decided(entries, listings):
    """The pairs that must stay apart, and the pairs to join in order: people's, numbers', automatic ones."""
    newest_decision = {}
    taken_back = {e.body["decision"] for e in entries if e.kind is Kind.DECISION_WITHDRAWN}
    said = [
        e for e in entries if e.kind in (Kind.SAME_CHILD, Kind.DIFFERENT_CHILD) and e.id not in taken_back
    ]
    for entry in sorted(said, key=lambda e: (not e.body.get("automatic"), e.stamp)):
        if entry.body["records"][0] != entry.body["records"][1]:
            newest_decision[tuple(sorted(entry.body["records"]))] = entry
    apart, by_people, by_evidence = [], [], []
    for pair, entry in newest_decision.items():
        if entry.kind is Kind.SAME_CHILD:
            (by_evidence if entry.body.get("automatic") else by_people).append((entry.stamp, pair))
        elif not entry.body.get("automatic"):
            apart.append(set(pair))
    by_number = []
    numbers = {}
    for record in sorted(listings):
        changes = sorted((e for e in entries if e.body.get("child") == record), key=lambda e: (e.stamp, e.id))
        number = person_from(listings[record], changes).student_number
        if number:
            first = numbers.setdefault(number, record)
            if first != record:
                by_number.append((number, (first, record)))
    edges = [pair for found in (by_people, by_number, by_evidence) for _, pair in sorted(found)]
    return apart, [pair for pair in edges if pair[0] in listings and pair[1] in listings]


def newest(entries):
    """The entry with the highest stamp."""
    return max(entries, key=lambda e: (e.stamp, e.id))
