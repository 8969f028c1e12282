"""Closing the visit: what is still in the way, tablets that will give nothing back, children without a result.

Works on the same ledger as the ``Desk`` that it belongs to. Everything the lead says here can be taken back.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fieldapp.services.deciding import Deciding
from fieldapp.services.ledger import Ledger
from fieldapp.services.roll import children_of, class_order, plain
from fieldapp.services.visit_book import Tablet, devices_of, tablets_of
from shared.errors import Refused
from shared.records.entries import Entry, Kind
from shared.records.standing import Standing, Status
from sync.devices import DeviceSeen


class Aside(StrEnum):
    """Why a tablet gives nothing back, or nothing more."""

    UNUSED = "unused"
    LOST = "lost"


@dataclass(frozen=True, slots=True)
class TabletState:
    """A tablet that has a handout. ``missing`` counts entries that it wrote and the book lacks."""

    id: str
    name: str
    gave_back: bool
    missing: int
    aside: Aside | None

    @property
    def settled(self) -> bool:
        """Whether nothing more is to be expected of it."""
        return self.aside is not None or (self.gave_back and not self.missing)

    @property
    def may_be(self) -> tuple[Aside, ...]:
        """What the lead may say of it: a tablet that has given back was used."""
        if self.settled:
            return ()
        return (Aside.LOST,) if self.gave_back else (Aside.UNUSED, Aside.LOST)


class Closing:
    """The end of one visit."""

    def __init__(self, ledger: Ledger, deciding: Deciding) -> None:
        self._ledger = ledger
        self._deciding = deciding

    # -- tablets ---------------------------------------------------------------------------------

    def tablets(self) -> list[TabletState]:
        """Every tablet that has a handout, by name."""
        devices = devices_of(self._ledger)
        states = []
        for tablet in sorted(tablets_of(self._ledger), key=lambda each: each.name):
            back = [each for each in devices if each.tablet_id == tablet.id and each.device]
            mark = self._mark(tablet, back)
            missing = sum(len(each.missing) for each in back)
            aside = Aside(mark.body["why"]) if mark is not None else None
            states.append(TabletState(tablet.id, tablet.name, bool(back), missing, aside))
        return states

    def set_aside(self, name: str, why: Aside) -> None:
        """Say that a tablet was not used, or is lost: it holds nothing up any more.

        The mark falls when the tablet is handed out anew or a newer return of it is gathered. Raises ``Refused``
        for an unknown tablet, and where the tablet is in the way of nothing or has given back and was used.
        """
        state = self._state(name)
        if why not in state.may_be:
            raise Refused(
                f"This cannot be said of tablet {state.name}.",
                kept="Nothing was changed.",
                todo="A tablet that has given back was used; one that nothing is missing from is not lost.",
            )
        tablet = next(each for each in tablets_of(self._ledger) if each.id == state.id)
        body = {"tablet": tablet.id, "why": why.value, **self._known(tablet, self._back(tablet.id))}
        self._ledger.write((Kind.TABLET_SET_ASIDE, body))

    def expect_again(self, name: str) -> None:
        """Take the mark of a tablet back; raises ``Refused`` where it has none."""
        state = self._state(name)
        tablet = next(each for each in tablets_of(self._ledger) if each.id == state.id)
        mark = self._mark(tablet, self._back(tablet.id))
        if mark is None:
            raise Refused(f"Tablet {state.name} is not set aside.", kept="Nothing was changed.")
        self._ledger.write((Kind.DECISION_WITHDRAWN, {"decision": mark.id}))

    def _state(self, name: str) -> TabletState:
        state = next((each for each in self.tablets() if each.name == name), None)
        if state is None:
            raise Refused(
                f"No handout was made for a tablet {name}.", todo="Choose one of the tablets listed."
            )
        return state

    def _back(self, tablet: str) -> list[DeviceSeen]:
        return [each for each in devices_of(self._ledger) if each.tablet_id == tablet and each.device]

    def _mark(self, tablet: Tablet, back: Sequence[DeviceSeen]) -> Entry | None:
        """The lead's word on a tablet, as long as nothing newer is known of it."""
        known = self._known(tablet, back)
        marks = [
            entry
            for entry in self._ledger.register.entries(Kind.TABLET_SET_ASIDE)
            if entry.body["tablet"] == tablet.id and self._ledger.register.stands(entry.id)
        ]
        if not marks or any(marks[-1].body.get(name) != value for name, value in known.items()):
            return None
        return marks[-1] if marks[-1].body["why"] in set(Aside) else None

    @staticmethod
    def _known(tablet: Tablet, back: Sequence[DeviceSeen]) -> dict[str, str]:
        """When the newest handout and the newest return of the tablet were made."""
        return {"handout": tablet.made_at, "return": max((each.made_at for each in back), default="")}

    # -- the visit -------------------------------------------------------------------------------

    def unfinished(self) -> list[str]:
        """What stands between the visit and its closing, each a whole sentence."""
        waiting = [state for state in self.tablets() if not state.settled]
        left = [f"Tablet {state.name} has not given back." for state in waiting if not state.gave_back]
        left += [f"Entries of tablet {state.name} are missing." for state in waiting if state.gave_back]
        doubts = len(self._deciding.doubts())
        return left + ([f"Doubts that wait for a decision: {doubts}."] if doubts else [])

    def without_result(self) -> list[Standing]:
        """The children not yet seen, and those who were absent: by class, then by name."""
        owed = (
            each
            for each in children_of(self._ledger.register)
            if each.status in (Status.NOT_SEEN, Status.ABSENT)
        )
        return sorted(
            owed,
            key=lambda each: (
                class_order(each.person.class_name),
                plain(each.person.family),
                plain(each.person.given),
            ),
        )

    def close(self) -> None:
        """Write down that the visit is closed; raises ``Refused`` while something is in the way.

        Children without a result are in nobody's way: they stay on the list of those not yet screened.
        """
        if left := self.unfinished():
            raise Refused(
                "The visit is not finished.", kept="Everything gathered is kept.", todo=" ".join(left)
            )
        self._ledger.write((Kind.VISIT_CLOSED, {"gathered": self._gathered()}))

    def _gathered(self) -> dict[str, int]:
        """How many entries of each tablet the book holds."""
        register = self._ledger.register
        return {device: len(register.entries_of(device)) for device in self._ledger.about.get("seen", {})}

    def reopen(self) -> None:
        """Take the closing back; raises ``Refused`` where the visit is open."""
        closing = self._closed_by()
        if closing is None:
            raise Refused("The visit is not closed.", kept="Nothing was changed.")
        self._ledger.write((Kind.DECISION_WITHDRAWN, {"decision": closing.id}))

    @property
    def closed(self) -> bool:
        """Whether the visit was closed and nothing has been gathered since."""
        return self._closed_by() is not None

    def _closed_by(self) -> Entry | None:
        register = self._ledger.register
        closings = [each for each in register.entries(Kind.VISIT_CLOSED) if register.stands(each.id)]
        if not closings:
            return None
        known = closings[-1].body.get("gathered")
        if known is None:  # before 2026-12; what a tablet wrote earlier may yet come later
            newest = register.entries(Kind.SCREENING_FINISHED)
            return None if newest and newest[-1].stamp > closings[-1].stamp else closings[-1]
        return closings[-1] if known == self._gathered() else None
