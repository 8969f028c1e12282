"""What a tablet records of a child without a tone: looks at the ears, reasons for not testing, notes.

Which signs forbid the earphones is ``shared.hearing.not_tested``'s; here is only what is written and taken back.
"""

from __future__ import annotations

from collections.abc import Sequence

from fieldapp.services.in_hand import not_withdrawn
from fieldapp.services.ledger import Draft, Ledger
from fieldapp.services.readying import Readying
from fieldapp.services.roll import standing_on_list
from fieldapp.services.walking import Walking, not_tested, what_was_seen
from shared.errors import Refused
from shared.hearing.not_tested import EAR_SIGNS, earphones_allowed
from shared.records.entries import EARS, Entry, Kind, Reason
from shared.records.standing import Standing


class Noting:
    """What this device says of its children beside their tests; none of it needs a ready station."""

    def __init__(self, ledger: Ledger, readying: Readying, walking: Walking) -> None:
        self._ledger = ledger
        self._readying = readying
        self._walking = walking

    def look(
        self, child: str, signs: Sequence[str], ears: Sequence[str] = (), note: str = ""
    ) -> tuple[bool, Standing]:
        """What was seen at the ears before the earphones go on; gives whether they may, and where the child stands.

        The rule decides: a sign that stops is an ear problem, the others are noted and the child may be tested.
        """
        known = [sign.key for sign in EAR_SIGNS]
        if not signs or not set(signs) <= set(known) or not set(ears) <= set(EARS):
            raise Refused("There is no such sign or ear.", todo=f"Use some of: {', '.join(known)}.")
        seen = {"signs": [key for key in known if key in signs], "ears": [ear for ear in EARS if ear in ears]}
        if not earphones_allowed(signs):
            return False, self.not_tested(child, Reason.EAR_PROBLEM, note, **seen)
        said = [sign.words for sign in EAR_SIGNS if sign.key in signs]
        self.observe(child, note or ", ".join(said), **seen)
        return True, self._standing(child)

    def not_tested(self, child: str, reason: Reason, note: str = "", **seen: Sequence[str]) -> Standing:
        """Record why a child is not tested. ``seen``: see ``Walking.stop``, which a child in hand comes to.

        The newest reason replaces those that this tablet gave before. Raises ``Refused`` for an absent child that
        was screened today.
        """
        self._readying.must_be_signed_in()
        standing = self._standing(child)
        current = self._walking.current
        if current is not None and current[0] == child:
            return self._walking.stop(reason, note, **seen)
        today = self._ledger.clock.now().date().isoformat()
        if reason is Reason.ABSENT and any(s.finished_at[:10] == today for s in standing.screenings):
            raise Refused("This child has its result already, from today.", kept="The result stands.")
        withdrawn = [_withdrawal(child, given) for given in self._given(child)]
        self._ledger.write(*withdrawn, not_tested(child, reason, note, seen))
        return self._standing(child)

    def take_back(self, child: str) -> Standing:
        """Withdraw this tablet's reasons for not testing the child; raises ``Refused`` where it gave none."""
        given = self._given(child)
        if not given:
            raise Refused(
                "This was not recorded on this tablet.",
                kept="Nothing was changed.",
                todo="The team lead decides it after gathering.",
            )
        self._ledger.write(*(_withdrawal(child, entry) for entry in given))
        return self._standing(child)

    def reasons_given(self, child: str) -> set[Reason]:
        """The reasons that this tablet gave and may take back, also where a result lies over them."""
        return {Reason(entry.body["reason"]) for entry in self._given(child)}

    def _given(self, child: str) -> list[Entry]:
        """This tablet's reasons for not testing the child that were not taken back."""
        about = self._ledger.register.about(child)
        standing = not_withdrawn(about, (Kind.NOT_TESTED,), by=Kind.ANSWER_WITHDRAWN, naming="answer")
        own = [entry for entry in standing if entry.device == self._ledger.device]
        return [entry for entry in own if entry.body.get("reason") in set(Reason)]

    def observe(self, child: str, note: str, **seen: Sequence[str]) -> None:
        """Write a note about the child; ``seen`` as in ``not_tested``."""
        self._readying.must_be_signed_in()
        if not note.strip():
            raise Refused("The note is empty.", todo="Type the note first.")
        self._standing(child)
        self._ledger.write((Kind.OBSERVATION, {"child": child, "note": note.strip(), **what_was_seen(seen)}))

    def _standing(self, child: str) -> Standing:
        return standing_on_list(self._ledger.register, child)


def _withdrawal(child: str, entry: Entry) -> Draft:
    return (Kind.ANSWER_WITHDRAWN, {"child": child, "answer": entry.id})
