"""Deciding: which records are one child, and every doubt that only a person may settle. No Kivy here.

What makes a pair alike is ``sync.matching``'s, what makes a doubt ``sync.doubts``'s; here they meet one book.
"""

from __future__ import annotations

from typing import Any

from fieldapp.services.ledger import Ledger
from fieldapp.services.visit_book import devices_of
from shared.errors import Refused
from shared.records.entries import Kind
from sync.devices import device_doubts
from sync.doubts import Doubt, decide, find_doubts, find_joins, take_back
from sync.matching import Pair, find_pairs


class Deciding:
    """The pairs and the doubts of one book."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._pairs: tuple[object, list[Pair]] | None = None

    def pairs(self) -> list[Pair]:
        """The matcher's pairs of records that may be one child."""
        register = self._ledger.register
        decided = [decision for decision in register.decisions if not decision.automatic]
        apart = frozenset(frozenset(decision.pair) for decision in decided if not decision.same)
        together = frozenset(frozenset(decision.pair) for decision in decided if decision.same)
        state = (register.people_changes, apart, together)
        if self._pairs is None or self._pairs[0] != state:
            people, denied = register.people(), register.denied()
            self._pairs = (state, find_pairs(people, apart=apart, together=together, denied=denied))
        return self._pairs[1]

    def join_automatically(self) -> int:
        """Write down the automatic joins that the evidence now gives, and take back those it no longer gives.

        The joins depend on all records together, never on the order in which they came.
        """
        wanted = {tuple(sorted((p.a, p.b))): p for p in self.pairs() if p.verdict == "automatic"}
        standing = self._ledger.register.automatic_joins()
        decided = {d.pair for d in self._ledger.register.decisions if not d.automatic}
        drafts: list[tuple[Kind, dict[str, Any]]] = [
            (Kind.SAME_CHILD, {"records": list(pair), "automatic": True, "evidence": list(found.reasons)})
            for pair, found in sorted(wanted.items())
            if pair not in standing and pair not in decided
        ]
        drafts += [
            (Kind.DIFFERENT_CHILD, {"records": list(pair), "automatic": True})
            for pair in sorted(standing - set(wanted))
        ]
        if drafts:
            self._ledger.write(*drafts)
        return len(drafts)

    def doubts(self) -> list[Doubt]:
        """Every open doubt."""
        return find_doubts(
            self._ledger.register,
            self.pairs(),
            device_doubts(devices_of(self._ledger), tuple(map(str, self._ledger.register.visit["dates"]))),
        )

    def joins(self) -> list[Doubt]:
        """Every join that stands by the evidence alone, as the question that a person may yet decide."""
        return find_joins(self._ledger.register)

    def describe(self, subject: str) -> str:
        """A doubt's subject in words for the lead: who the record is, or which tablet."""
        register = self._ledger.register
        if not register.is_child(subject):
            device = next((each for each in devices_of(self._ledger) if each.device == subject), None)
            return f"tablet {device.name}" if device else "a tablet unknown to this book"
        person = register.people()[subject]
        standing = register.standing(subject)
        born = f"born {person.born}" if person.born else "birth date unknown"
        number = person.student_number or "no number"
        origin = "added" if person.added else "on the roster"
        words = (
            f"{person.family}, {person.given}",
            born,
            f"class {person.class_name or 'none'}",
            number,
            origin,
            standing.status.value,
        )
        return "; ".join(words)

    def settle(self, doubt_id: str, decision: str) -> Doubt:
        """Decide a doubt; raises ``Refused`` where there is none of that id or it takes no such decision."""
        doubt = next((each for each in [*self.doubts(), *self.joins()] if each.id == doubt_id), None)
        if doubt is None:
            raise Refused("There is no open doubt of that id.", todo="List the doubts again.")
        self._ledger.write(*decide(self._ledger.register, doubt, decision))
        self.join_automatically()  # what a person says of one pair may say something of others
        return doubt

    def unsettle(self, doubt_id: str) -> None:
        """Take the newest decision on a doubt back: the doubt is open again."""
        self._ledger.write(*take_back(self._ledger.register, doubt_id))
        self.join_automatically()
