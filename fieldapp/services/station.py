"""The station: one tablet on its visit. What the screener's screens and ``play`` both call; no Kivy here.

Every call that records something returns only after it is durable, and raises ``Refused`` (nothing changed)
where the rules or the disk do not allow it. Here is the whole of a station at a glance: its visit, its children and
who is at work. What takes longer to say lives with those who do it: ``tablet_store``, ``readying``, ``walking``,
``threshold_test``, ``noting``, ``watching``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from fieldapp.platform.clock import Clock, DeviceClock
from fieldapp.services import tablet_store
from fieldapp.services.ledger import Ledger
from fieldapp.services.noting import Noting
from fieldapp.services.readying import Readying, ReadyState, ShortCheck
from fieldapp.services.roll import (
    MOST_ROWS,
    ClassCount,
    Progress,
    children_of,
    class_counts,
    pace,
    rows_of,
    standing_on_list,
    tally,
    waits,
)
from fieldapp.services.threshold_test import ThresholdTesting
from fieldapp.services.walking import Walking
from fieldapp.services.watching import Watching
from shared.errors import Refused, WriteRefused
from shared.hearing.protocol import Protocol
from shared.hearing.readiness import ReadinessResult
from shared.hearing.tone_walk import ToneWalk
from shared.records.entries import Kind, Reason
from shared.records.people import person_body
from shared.records.standing import Person, Standing
from shared.vault import Cost
from sync.doubts import Doubt, find_doubts
from sync.matching import Pair, lookalikes


@dataclass(frozen=True, slots=True)
class VisitInfo:
    """What the tablet knows of its visit."""

    school: str
    tablet: str
    protocol: Protocol
    dates: tuple[str, ...]


class Station:
    """One tablet store, opened."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.watching = Watching(ledger)
        self.readying = Readying(ledger, self.watching)
        self.thresholds = ThresholdTesting(ledger)
        self.walking = Walking(ledger, self.readying, self.watching, self.thresholds)
        self.noting = Noting(ledger, self.readying, self.walking)

    # -- the store -------------------------------------------------------------------------------

    @classmethod
    def receive(
        cls,
        handout: Path,
        store: Path,
        passphrase: str,
        *,
        clock: Clock | None = None,
        store_passphrase: str | None = None,
        cost: Cost | None = None,
    ) -> Station:
        """Take a handout in and make the tablet store; see ``tablet_store.make_store``.

        ``store_passphrase``: the store's own, where it is to have another than the handout's.
        """
        return cls(
            tablet_store.make_store(
                handout,
                store,
                passphrase,
                clock=clock or DeviceClock(),
                store_passphrase=store_passphrase or passphrase,
                cost=cost,
            )
        )

    @classmethod
    def open(cls, store: Path, passphrase: str, *, clock: Clock | None = None) -> Station:
        """Open a tablet store; raises ``ForeignFile`` for a visit book, and the vault's errors."""
        return cls(tablet_store.open_store(store, passphrase, clock=clock or DeviceClock()))

    def close(self) -> None:
        """Close the store."""
        self.ledger.close()

    def give_back(self, file: Path) -> int:
        """Write the return for the lead; gives how many entries it holds. The store stays as it is."""
        return tablet_store.give_back(self.ledger, file)

    def wipe(self, code: str) -> None:
        """Wipe this tablet, given the receipt code that the lead reads out; see ``tablet_store.wipe``."""
        tablet_store.wipe(self.ledger, code)

    # -- where the screener was ------------------------------------------------------------------

    @property
    def place(self) -> tuple[str, str]:
        """The screen and the class that were open last, as ``remember`` was told; empty where never."""
        told = self.ledger.about.get("place")
        told = told if isinstance(told, list) and len(told) == 2 else ["", ""]
        return str(told[0]), str(told[1])

    def remember(self, screen: str, class_name: str = "") -> None:
        """Remember where the screener is, to come back there; a disk that is full is no reason to stop."""
        place = [screen, class_name or self.place[1]]
        if place != self.ledger.about.get("place"):
            with suppress(WriteRefused):
                self.ledger.tell(place=place)

    # -- the visit and its children --------------------------------------------------------------

    @property
    def visit(self) -> VisitInfo:
        """The visit this tablet was handed out for."""
        register, about = self.ledger.register, self.ledger.about
        dates = tuple(map(str, register.visit.get("dates", ())))
        return VisitInfo(str(about["school"]), str(about["tablet"]), register.protocol, dates)

    @property
    def protocol(self) -> Protocol:
        """The protocol of the visit."""
        return self.ledger.register.protocol

    def standing(self, child: str) -> Standing:
        """Where the child stands; raises ``Refused`` for a child this tablet does not know."""
        return standing_on_list(self.ledger.register, child)

    def standings(self) -> list[Standing]:
        """Every child on this tablet, leavers of the roster left out unless they were seen."""
        return children_of(self.ledger.register)

    def find(self, number: str) -> str | None:
        """The child with that student number, or None."""
        matches = (s.child for s in self.ledger.register.standings() if s.person.student_number == number)
        return next(matches, None) if number else None

    def classes(self) -> list[ClassCount]:
        """Every class with its counts, in order of grade and name."""
        return class_counts(self.standings(), self._today())

    def rows(
        self, class_name: str | None = None, search: str = "", *, added: bool = False, limit: int = MOST_ROWS
    ) -> list[Standing]:
        """The children to choose from, those who wait first; see ``roll.rows_of``."""
        return rows_of(self.standings(), class_name, search, added=added, today=self._today(), limit=limit)

    def waits(self, standing: Standing) -> bool:
        """Whether the child waits to be tested today."""
        return waits(standing, self._today())

    def _today(self) -> str:
        return self.ledger.clock.now().date().isoformat()

    def progress(self) -> Progress:
        """How many children have been seen, how fast this tablet goes, and when all could be done."""
        standings = self.standings()
        now = self.ledger.clock.now()
        ends = sorted(
            datetime.fromisoformat(screening.finished_at)
            for standing in standings
            for screening in standing.screenings
            if screening.device == self.ledger.device and screening.finished_at[:10] == now.date().isoformat()
        )
        left = sum(map(self.waits, standings))
        return pace(ends, tally(standings), left, now)

    def lookalikes(self, person: Person) -> list[Pair]:
        """Children on this tablet who may be the one about to be added, likeliest first."""
        people = {standing.child: standing.person for standing in self.standings()}
        return lookalikes(person, people, 5)

    def add_child(self, person: Person, *, unlike: Sequence[str] = ()) -> str:
        """Add a child that the list lacks; gives its record id.

        ``unlike``: the look-alikes (record ids) that the screener was shown and said no to; gathering asks the lead
        before it takes the child for one of them.
        """
        self.readying.must_be_signed_in()
        if not person.given.strip() or not person.family.strip():
            raise Refused("The child's given and family name are both needed.", todo="Type both names.")
        if person.born and not _is_date(person.born):
            raise Refused("The birth date is not a date.", todo="Write it as 2017-05-02, or leave it out.")
        if self.find(person.student_number):
            raise Refused(
                "A child with this student number is on the list.",
                todo="Choose that child instead of adding one.",
            )
        said = {"unlike": list(unlike)} if unlike else {}
        (entry,) = self.ledger.write((Kind.CHILD_ADDED, {**person_body(person), **said}))
        return entry.id

    def doubts(self) -> list[Doubt]:
        """What a person will have to decide, as far as this tablet can see."""
        return find_doubts(self.ledger.register, ())

    # -- screener and readiness ------------------------------------------------------------------

    @property
    def screener(self) -> str:
        """The initials of the screener who is signed in, or empty."""
        return self.ledger.author

    def sign_in(self, initials: str) -> None:
        """The screener takes over the tablet; another screener must prove the station ready again."""
        initials = initials.strip().upper()  # "mk" and "MK" are one person
        if not 1 <= len(initials) <= 20 or not initials.isprintable():
            raise Refused("The screener's initials are missing.", todo="Type one to twenty letters.")
        in_hand = self.current is not None or self.thresholds.under_way
        if in_hand and initials != self.screener:
            raise Refused("A child is being screened.", todo="Finish or stop this child, then change over.")
        self.ledger.tell(screener=initials)
        self.ledger.author = initials

    @property
    def ready(self) -> ReadyState:
        """Whether the station may test now."""
        return self.readying.ready

    @property
    def short_check(self) -> ShortCheck | None:
        """What has to be done again where the station watch alone has closed the station, or None."""
        return self.readying.short_check

    def change_place(self, *, room: str = "", audiometer: str = "", earphones: str = "") -> ReadyState:
        """The station moved to another room or got other equipment: closed until a new check passes."""
        return self.readying.change_place(room=room, audiometer=audiometer, earphones=earphones)

    def check_readiness(self, facts: Mapping[str, Any], *, carry_over: bool = False) -> ReadinessResult:
        """Record a readiness check, whole or the short way, and say whether it passed; see ``Readying.check``."""
        self.readying.must_be_signed_in()
        return self.readying.check(facts, carry_over=carry_over)

    # -- one child's tests: see ``Walking`` and ``ThresholdTesting`` -----------------------------

    @property
    def current(self) -> tuple[str, ToneWalk] | None:
        """The child being screened on this tablet and its walk, also after a crash; or None."""
        return self.walking.current

    def begin(self, child: str, *, again: str = "") -> ToneWalk:
        """Begin a child's walk; ``again`` says why, where the child has a result."""
        return self.walking.begin(child, again=again)

    def answer(self, heard: bool, presentations: int = 0) -> ToneWalk:
        """Record the answer to the tone in hand; durable when this returns."""
        return self.walking.answer(heard, presentations)

    def reseat(self) -> ToneWalk:
        """Record that the earphones were reseated: the whole walk is walked again."""
        return self.walking.reseat()

    def undo(self) -> ToneWalk:
        """Withdraw the newest answer or reseat of the child in hand; without one, nothing changes."""
        return self.walking.undo()

    def finish(self) -> Standing:
        """Close the walk of the child in hand and say where the child now stands."""
        return self.walking.finish()

    def stop(self, reason: Reason | None = None, note: str = "", **seen: Sequence[str]) -> Standing:
        """Break off the child in hand: with a reason it is recorded, without one the child is not seen."""
        return self.walking.stop(reason, note, **seen)

    def walk_script(self, child: str, answers: str, *, again: str = "") -> Standing:
        """A whole walk at once: ``+`` heard, ``-`` no response, ``/`` reseated. Recorded whole or not at all."""
        return self.walking.script(child, answers, again=again)

    def walk_again(self) -> list[Standing]:
        """Children whose walk fell into a fault that the station watch noticed, and who wait for another."""
        return [self.standing(child) for child in self.watching.to_walk_again()]

    def begin_threshold_test(self, child: str, *, first_ear: str = "right") -> None:
        """Begin a child's threshold test; go on with ``thresholds``."""
        self.readying.must_be_open()
        self.walking.must_have_free_hands()
        self.standing(child)
        self.thresholds.begin(child, first_ear=first_ear)

    # -- without a test: see ``Noting`` ----------------------------------------------------------

    def look(
        self, child: str, signs: Sequence[str], ears: Sequence[str] = (), note: str = ""
    ) -> tuple[bool, Standing]:
        """What was seen at the ears before the earphones go on; gives whether they may, and where the child stands."""
        return self.noting.look(child, signs, ears, note)

    def not_tested(self, child: str, reason: Reason, note: str = "", **seen: Sequence[str]) -> Standing:
        """Record why a child is not tested; it replaces the reasons that this tablet gave before."""
        return self.noting.not_tested(child, reason, note, **seen)

    def take_back(self, child: str) -> Standing:
        """Withdraw this tablet's reasons for not testing the child; raises ``Refused`` where it gave none."""
        return self.noting.take_back(child)

    def reasons_given(self, child: str) -> set[Reason]:
        """The reasons that this tablet gave and may take back, also where a result lies over them."""
        return self.noting.reasons_given(child)

    def observe(self, child: str, note: str, **seen: Sequence[str]) -> None:
        """Write a note about the child."""
        self.noting.observe(child, note, **seen)


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False
