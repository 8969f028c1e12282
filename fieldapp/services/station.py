"""The station: one tablet on its visit. What the screener's screens and ``play`` both call; no Kivy here.

Every call that records something returns only after it is durable, and raises ``Refused`` (nothing changed)
where the rules or the disk do not allow it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fieldapp.platform.clock import Clock, DeviceClock
from fieldapp.platform.files import read_whole, write_whole
from fieldapp.platform.randomness import new_device_id
from fieldapp.services.ledger import Draft, Ledger
from fieldapp.services.office import receipt_code
from fieldapp.services.readying import Readying, ReadyState, ShortCheck
from fieldapp.services.roll import (
    MOST_ROWS,
    ClassCount,
    Progress,
    class_counts,
    on_the_roll,
    pace,
    rows_of,
    tally,
    waits,
)
from fieldapp.services.threshold_test import ThresholdTesting
from fieldapp.services.watching import Watching
from shared.errors import ForeignFile, Refused, WriteRefused
from shared.hearing.not_tested import EAR_SIGNS, earphones_allowed
from shared.hearing.protocol import Protocol
from shared.hearing.readiness import ReadinessResult
from shared.hearing.tone_walk import Action, ToneWalk
from shared.records.entries import EARS, Entry, Kind, Reason
from shared.records.people import person_body
from shared.records.standing import Person, Standing, Status
from shared.records.tests_done import walk_of
from shared.vault import Cost, Vault
from sync.doubts import Doubt, find_doubts
from sync.handout import pack_certificate, pack_key, read_handout, unpack_key
from sync.matching import Pair, lookalikes
from sync.returns import Return, write_return

_WALK_KINDS = (Kind.TONE_ANSWERED, Kind.EARPHONES_RESEATED)


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

    # -- opening ---------------------------------------------------------------------------------

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
        """Take a handout in and make the tablet store; the tablet gets a device id of its own.

        Raises ``Refused`` where the store exists already, ``WrongPassphrase`` and the errors of sealed files.
        """
        if store.exists():
            raise Refused(
                "There is already a store at this place.",
                kept="It was not touched.",
                todo="Choose another place, or give that store back first.",
            )
        clock = clock or DeviceClock()
        taken = read_handout(read_whole(handout), passphrase)
        received_at = clock.now().isoformat(timespec="seconds")
        vault = Vault.create(
            store,
            kind="tablet",
            passphrase=store_passphrase or passphrase,
            lead_public_key=taken.lead_sealing_public,
            cost=cost,
        )
        with vault.transaction():
            ledger = Ledger.begin(
                vault,
                clock,
                {
                    "device": new_device_id(),
                    "visit": taken.visit,
                    "school": taken.school,
                    "tablet": taken.tablet,
                    "tablet_id": taken.tablet_id,
                    "signing": pack_key(taken.tablet_signing_private),
                    "lead_signing": pack_key(taken.lead_signing_public),
                    "lead_sealing": pack_key(taken.lead_sealing_public),
                    "book_device": taken.book_device,
                    "handout_made_at": taken.made_at,
                    "received_at": received_at,
                    "authority": pack_certificate(taken.authority),
                    "certificate": pack_certificate(taken.identity.certificate),
                    "certificate_key": pack_key(taken.identity.key),
                },
            )
            ledger.take_in(taken.entries)
            ledger.write(
                (
                    Kind.TABLET_NAMED,
                    {"tablet": taken.tablet, "tablet_id": taken.tablet_id, "received_at": received_at},
                )
            )
        return cls(ledger)

    @classmethod
    def open(cls, store: Path, passphrase: str, *, clock: Clock | None = None) -> Station:
        """Open a tablet store; raises ``ForeignFile`` for a visit book, and the vault's errors."""
        vault = Vault.open(store, passphrase=passphrase)
        if vault.kind != "tablet":
            vault.close()
            raise ForeignFile("This is a visit book, not a tablet store.", todo="Open it as the lead.")
        return cls(Ledger(vault, clock or DeviceClock()))

    def close(self) -> None:
        """Close the store."""
        self.ledger.close()

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
        try:
            return self.ledger.register.standing(child)
        except KeyError:
            raise Refused(
                "This tablet's list has no such child.", todo="Search again, or add the child."
            ) from None

    def standings(self) -> list[Standing]:
        """Every child on this tablet, leavers of the roster left out unless they were seen."""
        return on_the_roll(self.ledger.register.standings())

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

    def judge_readiness(self, facts: Mapping[str, Any]) -> ReadinessResult:
        """What a check with these facts would say; nothing is recorded."""
        return self.readying.judge(facts)

    def check_readiness(self, facts: Mapping[str, Any], *, carry_over: bool = False) -> ReadinessResult:
        """Record a readiness check, whole or the short way, and say whether it passed; see ``Readying.check``."""
        self._must_be_signed_in()
        return self.readying.check(facts, carry_over=carry_over)

    # -- one child's walk ------------------------------------------------------------------------

    @property
    def current(self) -> tuple[str, ToneWalk] | None:
        """The child being screened on this tablet and its walk, also after a crash; or None."""
        begun = self._begun()
        if begun is None:
            return None
        return str(begun.body["child"]), walk_of(begun, self._standing_parts(begun), self.protocol)

    def begin(self, child: str, *, again: str = "") -> ToneWalk:
        """Begin a child's walk.

        ``again``: why a child is walked once more although its result stands (a station fault, say); the
        result of the faulty walk is then replaced. Raises ``Refused`` where the station is not ready, another
        child is in hand, the child has its result, or its rescreen is not due yet.
        """
        self._must_be_ready()
        if self._begun() is not None:
            raise Refused("Another child is being screened.", todo="Finish or stop that child first.")
        if self.thresholds.under_way:
            raise Refused("Another threshold test is under way.", todo="Finish or stop that one first.")
        standing = self.standing(child)
        ready = self.ready
        body: dict[str, Any] = {
            "child": child,
            "level_db_hl": ready.level_db_hl,
            "drop": list(ready.drop),
            "grade": standing.person.grade,
            **self._purpose(standing, again),
        }
        self.ledger.write((Kind.SCREENING_BEGUN, body))
        current = self.current
        assert current is not None
        return current[1]

    def _purpose(self, standing: Standing, again: str) -> dict[str, Any]:
        governing = standing.governing
        today = self.ledger.clock.now().date().isoformat()
        if standing.status is Status.EAR_PROBLEM and standing.since[:10] == today:
            raise Refused(
                "An ear problem was noted for this child today: no earphones.",
                kept="The child is on the medical list.",
                todo="If it was noted by mistake, take it back first.",
            )
        if again.strip():
            replaces = {"replaces": governing.id} if governing else {}
            return {"purpose": "again", "why": again.strip(), **replaces}
        if governing is None or standing.status is Status.NOT_SEEN:
            return {"purpose": "first"}
        if standing.status is Status.RESCREEN:
            today = self.ledger.clock.now().date().isoformat()
            if (
                standing.window
                and today < standing.window[0]
                and standing.window[0] != governing.begun_at[:10]
            ):
                raise Refused(
                    f"The rescreen is not due before {standing.window[0]}.",
                    kept="The first result stands.",
                    todo="Choose another child.",
                )
            return {"purpose": "rescreen", "after": governing.id}
        raise Refused(
            f"This child has its result already: {standing.status.value}.",
            kept="The result stands.",
            todo="To walk the child again, say why.",
        )

    def answer(self, heard: bool, presentations: int = 0) -> ToneWalk:
        """Record the answer to the tone in hand; durable when this returns."""
        begun, walk = self._in_hand()
        step = walk.step
        following = walk.take(Action.HEARD if heard else Action.NO_RESPONSE)
        assert step is not None
        body: dict[str, Any] = {
            "child": begun.body["child"],
            "screening": begun.id,
            "ear": step.ear,
            "hz": step.hz,
            "level_db_hl": step.level_db_hl,
            "heard": heard,
        }
        if presentations:
            body["presentations"] = presentations
        self.ledger.write((Kind.TONE_ANSWERED, body))
        return following

    def reseat(self) -> ToneWalk:
        """Record that the earphones were reseated: the whole walk is walked again."""
        begun, walk = self._in_hand()
        following = walk.take(Action.RESEAT)
        self.ledger.write((Kind.EARPHONES_RESEATED, {"child": begun.body["child"], "screening": begun.id}))
        return following

    def undo(self) -> ToneWalk:
        """Withdraw the newest answer or reseat of the child in hand; without one, nothing changes."""
        begun, walk = self._in_hand()
        parts = self._standing_parts(begun)
        if not parts:
            return walk
        self.ledger.write(
            (
                Kind.ANSWER_WITHDRAWN,
                {"child": begun.body["child"], "screening": begun.id, "answer": parts[-1].id},
            )
        )
        return walk_of(begun, parts[:-1], self.protocol)

    def finish(self) -> Standing:
        """Close the walk of the child in hand and say where the child now stands."""
        begun, walk = self._in_hand()
        if not walk.may_finish:
            raise Refused("There are tones left to present.", todo="Finish the walk, or stop this child.")
        child = str(begun.body["child"])
        self.ledger.write((Kind.SCREENING_FINISHED, {"child": child, "screening": begun.id}))
        self.watching.look()
        self.ledger.tidy()
        return self.standing(child)

    def begin_threshold_test(self, child: str, *, first_ear: str = "right") -> None:
        """Begin a child's threshold test; go on with ``thresholds``."""
        self._must_be_ready()
        if self._begun() is not None:
            raise Refused("Another child is being screened.", todo="Finish or stop that child first.")
        self.standing(child)
        self.thresholds.begin(child, first_ear=first_ear)

    def walk_again(self) -> list[Standing]:
        """Children whose walk fell into a fault that the station watch noticed, and who wait for another."""
        return [self.standing(child) for child in self.watching.to_walk_again()]

    def stop(self, reason: Reason | None = None, note: str = "", **seen: Sequence[str]) -> Standing:
        """Break off the child in hand: with a reason it is recorded, without one the child is not seen.

        ``seen``: the ``signs`` of an ear problem and the ``ears`` that show them.
        """
        begun, _ = self._in_hand()
        child = str(begun.body["child"])
        drafts: list[tuple[Kind, dict[str, Any]]] = [
            (Kind.SCREENING_STOPPED, {"child": child, "screening": begun.id, "why": str(reason or note)})
        ]
        if reason is not None:
            body = {"child": child, "reason": reason.value, "note": note.strip(), **_told(seen)}
            drafts.append((Kind.NOT_TESTED, body))
        self.ledger.write(*drafts)
        return self.standing(child)

    def walk_script(self, child: str, answers: str, *, again: str = "") -> Standing:
        """A whole walk at once: ``+`` heard, ``-`` no response, ``/`` reseated. Recorded whole or not at all."""
        self._must_be_ready()
        standing = self.standing(child)
        self._purpose(standing, again)
        ready = self.ready
        walk = ToneWalk.begin(
            self.protocol, grade=standing.person.grade, permitted=ready.level_db_hl or 20, drop=ready.drop
        )
        for place, sign in enumerate(answers, 1):
            if sign not in set(Action):
                raise Refused(f"Answer {place} is neither +, - nor /.", todo="Correct the line.")
            walk = walk.take(Action(sign))
        if not walk.may_finish:
            raise Refused(
                f"The walk is not whole: {len(answers)} answers were given and tones are left.",
                todo="Give an answer for every tone of the protocol, in its order.",
            )
        self.begin(child, again=again)
        for sign in answers:
            if sign == Action.RESEAT:
                self.reseat()
            else:
                self.answer(sign == Action.HEARD)
        return self.finish()

    def _begun(self) -> Entry | None:
        """The screening in hand: this device's newest one, if nothing has ended it."""
        newest = self.ledger.register.newest_of
        begun = newest(self.ledger.device, Kind.SCREENING_BEGUN)
        ended = newest(self.ledger.device, Kind.SCREENING_FINISHED, Kind.SCREENING_STOPPED)
        if begun is not None and ended is not None and ended.body.get("screening") == begun.id:
            return None
        return begun

    def _in_hand(self) -> tuple[Entry, ToneWalk]:
        begun = self._begun()
        if begun is None:
            raise Refused("No child is being screened.", todo="Choose a child first.")
        return begun, walk_of(begun, self._standing_parts(begun), self.protocol)

    def _standing_parts(self, begun: Entry) -> list[Entry]:
        about = self.ledger.register.about(str(begun.body["child"]))
        withdrawn = {e.body.get("answer") for e in about if e.kind is Kind.ANSWER_WITHDRAWN}
        return [
            e
            for e in about
            if e.kind in _WALK_KINDS and e.body.get("screening") == begun.id and e.id not in withdrawn
        ]

    # -- without a walk --------------------------------------------------------------------------

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
        return True, self.standing(child)

    def not_tested(self, child: str, reason: Reason, note: str = "", **seen: Sequence[str]) -> Standing:
        """Record why a child is not tested; needs no readiness. ``seen``: see ``stop``.

        The newest reason replaces those that this tablet gave before. Raises ``Refused`` for an absent child that
        was screened today.
        """
        self._must_be_signed_in()
        standing = self.standing(child)
        if self.current is not None and self.current[0] == child:
            return self.stop(reason, note, **seen)
        today = self.ledger.clock.now().date().isoformat()
        if reason is Reason.ABSENT and any(s.finished_at[:10] == today for s in standing.screenings):
            raise Refused("This child has its result already, from today.", kept="The result stands.")
        withdrawn = [self._withdrawal(child, given) for given in self._reasons_given(child)]
        body = {"child": child, "reason": reason.value, "note": note.strip(), **_told(seen)}
        self.ledger.write(*withdrawn, (Kind.NOT_TESTED, body))
        return self.standing(child)

    def take_back(self, child: str) -> Standing:
        """Withdraw this tablet's reasons for not testing the child; raises ``Refused`` where it gave none."""
        given = self._reasons_given(child)
        if not given:
            raise Refused(
                "This was not recorded on this tablet.",
                kept="Nothing was changed.",
                todo="The team lead decides it after gathering.",
            )
        self.ledger.write(*(self._withdrawal(child, entry) for entry in given))
        return self.standing(child)

    def reasons_given(self, child: str) -> set[Reason]:
        """The reasons that this tablet gave and may take back, also where a result lies over them."""
        return {Reason(entry.body["reason"]) for entry in self._reasons_given(child)}

    def _reasons_given(self, child: str) -> list[Entry]:
        """This tablet's reasons for not testing the child that were not taken back."""
        about = self.ledger.register.about(child)
        withdrawn = {entry.body.get("answer") for entry in about if entry.kind is Kind.ANSWER_WITHDRAWN}
        return [
            entry
            for entry in about
            if entry.kind is Kind.NOT_TESTED
            and entry.device == self.ledger.device
            and entry.id not in withdrawn
            and entry.body.get("reason") in set(Reason)
        ]

    def _withdrawal(self, child: str, entry: Entry) -> Draft:
        return (Kind.ANSWER_WITHDRAWN, {"child": child, "answer": entry.id})

    def observe(self, child: str, note: str, **seen: Sequence[str]) -> None:
        """Write a note about the child."""
        self._must_be_signed_in()
        if not note.strip():
            raise Refused("The note is empty.", todo="Type the note first.")
        self.standing(child)
        self.ledger.write((Kind.OBSERVATION, {"child": child, "note": note.strip(), **_told(seen)}))

    def lookalikes(self, person: Person) -> list[Pair]:
        """Children on this tablet who may be the one about to be added, likeliest first."""
        people = {standing.child: standing.person for standing in self.standings()}
        return lookalikes(person, people, 5)

    def add_child(self, person: Person, *, unlike: Sequence[str] = ()) -> str:
        """Add a child that the list lacks; gives its record id.

        ``unlike``: the look-alikes (record ids) that the screener was shown and said no to; gathering asks the lead
        before it takes the child for one of them.
        """
        self._must_be_signed_in()
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

    # -- giving back -----------------------------------------------------------------------------

    def give_back(self, file: Path) -> int:
        """Write the return for the lead; gives how many entries it holds. The store stays as it is."""
        about = self.ledger.about
        book = about["book_device"]
        entries = tuple(e for e in self.ledger.register.all_variants() if e.device != book)
        returned = Return(
            visit=str(about["visit"]),
            tablet_id=str(about["tablet_id"]),
            device=self.ledger.device,
            handout_made_at=str(about["handout_made_at"]),
            received_at=str(about["received_at"]),
            made_at=self.ledger.clock.now().isoformat(timespec="seconds"),
            highest=self.ledger.counter,
            entries=entries,
        )
        data = write_return(
            returned,
            lead_sealing_public=unpack_key(about["lead_sealing"]),
            tablet_signing_private=unpack_key(about["signing"]),
        )
        write_whole(file, data)
        return len(entries)

    def wipe(self, code: str) -> None:
        """Wipe this tablet, given the receipt code that the lead reads out after gathering its return.

        Raises ``Refused`` where the code is another tablet's, or where the tablet went on after giving back.
        """
        signing = Ed25519PrivateKey.from_private_bytes(unpack_key(self.ledger.about["signing"]))
        key = signing.public_key().public_bytes_raw()
        if code.replace(" ", "") != receipt_code(key, self.ledger.device, self.ledger.counter):
            raise Refused(
                "This code does not belong to what is on this tablet.",
                kept="Nothing was wiped.",
                todo="Give back once more, have it gathered, and ask the lead for the new code.",
            )
        path = self.ledger.vault.path
        self.close()
        Vault.wipe(path)

    def _must_be_signed_in(self) -> None:
        if not self.screener:
            raise Refused("Nobody is signed in.", todo="Type your initials first.")

    def _must_be_ready(self) -> None:
        ready = self.ready
        if not ready.open:
            raise Refused(
                f"The station is not ready to test. {ready.why_closed}", todo="Do the readiness check first."
            )


def _told(seen: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """What was said of an ear, without what was not."""
    return {name: list(told) for name, told in seen.items() if told}


def _is_date(text: str) -> bool:
    try:
        return date.fromisoformat(text).isoformat() == text
    except ValueError:
        return False
