"""The desk: the lead's visit book, opened. What the lead's and the office's screens and the commands call.

Preparing, handing out, gathering, deciding. No Kivy here; papers and exports are made from ``standings``.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from fieldapp.platform.clock import Clock, DeviceClock
from fieldapp.platform.files import read_whole, write_whole
from fieldapp.platform.randomness import new_device_id, random_bytes
from fieldapp.services.closing import Closing
from fieldapp.services.exemptions import exemption_drafts
from fieldapp.services.ledger import Ledger
from fieldapp.services.office import Office, receipt_code
from fieldapp.services.roll import on_the_roll
from shared.collecting import no_collecting
from shared.errors import ForeignFile, QuietbellError, Refused
from shared.hearing.protocol import Protocol
from shared.records.entries import LISTINGS, STAYS_IN_THE_BOOK, Entry, Kind
from shared.records.people import person_body
from shared.records.standing import Person, Standing, Status
from shared.vault import Cost, Vault
from sync.devices import DeviceSeen, device_doubts, missing_counters
from sync.doubts import Doubt, decide, find_doubts, find_joins, take_back
from sync.handout import Handout, pack_certificate, pack_key, unpack_certificate, unpack_key, write_handout
from sync.matching import Pair, find_pairs
from sync.nearby.authority import Authority, Identity, Role
from sync.returns import Return, read_return


@dataclass(frozen=True, slots=True)
class Tablet:
    """A tablet that a handout was made for. ``classes`` empty: it has every class."""

    id: str
    name: str
    signing_public: bytes
    classes: tuple[str, ...]
    made_at: str


@dataclass(frozen=True, slots=True)
class ReturnGathered:
    """What one return brought. ``problem`` set: it was refused and brought nothing."""

    file: str
    tablet: str = ""
    device: str = ""
    new: int = 0
    known: int = 0
    highest: int = 0
    missing: tuple[int, ...] = ()
    problem: QuietbellError | None = None


@dataclass(frozen=True, slots=True)
class Gathering:
    """What a gathering brought, and what it adds up to: listed + added - joined = children."""

    returns: tuple[ReturnGathered, ...]
    listed: int
    added: int
    joined: int
    children: int
    statuses: Mapping[Status, int]
    joined_automatically: tuple[tuple[str, str, tuple[str, ...]], ...] = field(default=())


class Desk:
    """One visit book, opened."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self.office = Office(ledger, self.standings)
        self.closing = Closing(
            ledger,
            tablets=lambda: self.tablets,
            devices=self.devices,
            doubts=self.doubts,
            standings=self.standings,
        )
        self._pairs: tuple[object, list[Pair]] | None = None
        self._marks: dict[tuple[Path, int, int], str] = {}  # of files looked at: path, size, time changed

    # -- opening ---------------------------------------------------------------------------------

    @classmethod
    def prepare(
        cls,
        book: Path,
        passphrase: str,
        *,
        school: str,
        people: Sequence[Person],
        protocol: Protocol,
        dates: Sequence[date],
        lead: str = "lead",
        clock: Clock | None = None,
        cost: Cost | None = None,
    ) -> Desk:
        """Make a visit book from a roster already read; raises ``Refused`` where it exists or is empty."""
        if book.exists():
            raise Refused(
                "There is already a file at this place.",
                kept="It was not touched.",
                todo="Choose another name for the new book.",
            )
        if not school.strip():
            raise Refused("The school has no name.", todo="Give the school's name.")
        if not people:
            raise Refused("The roster has no child that could be read.", todo="Look at the list of problems.")
        sealing, signing = X25519PrivateKey.generate(), Ed25519PrivateKey.generate()
        sealing_public = sealing.public_key().public_bytes_raw()
        clock = clock or DeviceClock()
        visit = new_device_id()
        authority = Authority.make(visit, clock.now()).identity
        about = {
            "device": new_device_id(),
            "visit": visit,
            "screener": lead,
            "sealing": pack_key(sealing.private_bytes_raw()),
            "signing": pack_key(signing.private_bytes_raw()),
            "authority": pack_certificate(authority.certificate),
            "authority_key": pack_key(authority.key),
            "tablets": [],
            "seen": {},
        }
        vault = Vault.create(
            book, kind="book", passphrase=passphrase, lead_public_key=sealing_public, cost=cost
        )
        with vault.transaction():
            ledger = Ledger.begin(vault, clock, about)
            ledger.author = lead
            prepared = {
                "school": school.strip(),
                "protocol": protocol.to_dict(),
                "dates": [day.isoformat() for day in dates],
            }
            listings = ((Kind.CHILD_LISTED, person_body(person)) for person in people)
            ledger.write((Kind.VISIT_PREPARED, prepared), *listings)
            drafts = exemption_drafts(ledger.register, max(dates))
            if drafts:
                ledger.write(*drafts)
        return cls(ledger)

    @classmethod
    def open(cls, book: Path, passphrase: str, *, clock: Clock | None = None) -> Desk:
        """Open a visit book; raises ``ForeignFile`` for a tablet store, and the vault's errors."""
        vault = Vault.open(book, passphrase=passphrase)
        if vault.kind != "book":
            vault.close()
            raise ForeignFile("This is a tablet store, not a visit book.", todo="Choose the visit book.")
        return cls(Ledger(vault, clock or DeviceClock()))

    def sign_in(self, initials: str) -> None:
        """From now on everything is written down by these initials, until the book is closed."""
        self.ledger.author = initials.strip().upper()[:20] or self.ledger.author  # as on a tablet

    def close(self) -> None:
        """Close the book."""
        self.ledger.close()

    # -- what the book knows ---------------------------------------------------------------------

    @property
    def school(self) -> str:
        """The school's name."""
        return str(self.ledger.register.visit["school"])

    @property
    def dates(self) -> tuple[str, ...]:
        """The days of the visit, as ISO dates."""
        return tuple(map(str, self.ledger.register.visit["dates"]))

    @property
    def protocol(self) -> Protocol:
        """The protocol of the visit."""
        return self.ledger.register.protocol

    def standings(self) -> list[Standing]:
        """Every child once; leavers of the roster only where they were seen."""
        return on_the_roll(self.ledger.register.standings())

    def counts(self) -> dict[Status, int]:
        """How many children have each status."""
        counted = dict.fromkeys(Status, 0)
        for standing in self.standings():
            counted[standing.status] += 1
        return counted

    @property
    def tablets(self) -> list[Tablet]:
        """The tablets that handouts were made for."""
        return [
            Tablet(
                t["id"], t["name"], unpack_key(t["signing_public"]), tuple(t.get("classes", ())), t["made_at"]
            )
            for t in self.ledger.about.get("tablets", [])
        ]

    def devices(self) -> list[DeviceSeen]:
        """Every tablet that has given back, and every handout that nothing has come back from."""
        seen = self.ledger.about.get("seen", {})
        names = {tablet.id: tablet.name for tablet in self.tablets}
        found = [
            DeviceSeen.from_record(
                device,
                names.get(record.get("tablet_id"), "?"),
                record,
                self.ledger.register.entries_of(device),
            )
            for device, record in sorted(seen.items())
        ]
        heard_of = {device.tablet_id for device in found}
        found += [
            DeviceSeen.silent(tablet.id, tablet.name) for tablet in self.tablets if tablet.id not in heard_of
        ]
        return sorted(found, key=lambda device: (device.name, device.device))

    # -- handing out -----------------------------------------------------------------------------

    def hand_out(
        self,
        name: str,
        file: Path,
        passphrase: str,
        *,
        classes: Sequence[str] = (),
        cost: Cost | None = None,
    ) -> int:
        """Write the handout for the tablet ``name``; gives how many children it holds.

        A second handout for the same name has the same keys, so that its returns are taken either way.
        """
        name = name.strip()
        if not 1 <= len(name) <= 30 or not name.isprintable():
            raise Refused("The tablet has no name.", todo="Give it a short name, such as A.")
        known = {standing.person.class_name for standing in self.standings()}
        if unknown := [each for each in classes if each not in known]:
            raise Refused(
                f"There is no class {unknown[0]} on the roster.", todo="Choose from the classes listed."
            )
        about = self.ledger.about
        made_at = self.ledger.clock.now().isoformat(timespec="seconds")
        record = next((t for t in about["tablets"] if t["name"] == name), None)
        if record is None:
            signing = Ed25519PrivateKey.generate()
            record = {
                "id": new_device_id(),
                "name": name,
                "signing": pack_key(signing.private_bytes_raw()),
                "signing_public": pack_key(signing.public_key().public_bytes_raw()),
            }
        record = {**record, "classes": list(classes), "made_at": made_at}
        others = [t for t in about["tablets"] if t["name"] != name]
        lead_signing = unpack_key(about["signing"])
        wanted = self.records_of_classes(classes)
        entries = tuple(
            entry
            for entry in self.ledger.register.all_variants()
            if entry.kind not in STAYS_IN_THE_BOOK
            and (not entry.subjects or wanted.intersection(entry.subjects))
        )
        handout = Handout(
            visit=about["visit"],
            school=self.school,
            tablet=name,
            tablet_id=record["id"],
            tablet_signing_private=unpack_key(record["signing"]),
            lead_signing_public=Ed25519PrivateKey.from_private_bytes(lead_signing)
            .public_key()
            .public_bytes_raw(),
            lead_sealing_public=self._sealing().public_key().public_bytes_raw(),
            book_device=about["device"],
            made_at=made_at,
            authority=self.authority.certificate,
            identity=self.authority.issue(Role.TABLET, record["id"], self.ledger.clock.now()),
            entries=entries,
        )
        data = write_handout(
            handout, passphrase=passphrase, lead_signing_private=lead_signing, random=random_bytes, cost=cost
        )
        # The book must know the tablet's key before the file can be carried anywhere.
        self.ledger.tell(tablets=[*others, record])
        write_whole(file, data)
        return len({entry.id for entry in entries if entry.kind in LISTINGS})

    @property
    def authority(self) -> Authority:
        """The visit's own authority, under which its devices talk over the local network."""
        about = self.ledger.about
        return Authority(
            Identity(unpack_certificate(about.get("authority")), unpack_key(about.get("authority_key")))
        )

    def records_of_classes(self, classes: Sequence[str]) -> set[str]:
        """The records of every child in those classes; of every child where none is named.

        Without leavers who were never seen, and without working out any other child's result: a listening lead
        asks this again for every tablet that calls.
        """
        register = self.ledger.register
        return {
            member
            for record, person in register.people().items()
            if not classes or person.class_name in classes
            if not person.left or on_the_roll([register.standing(record)])
            for member in register.records_of(record)
        }

    def _sealing(self) -> X25519PrivateKey:
        return X25519PrivateKey.from_private_bytes(unpack_key(self.ledger.about["sealing"]))

    # -- gathering -------------------------------------------------------------------------------

    def gather(self, files: Iterable[Path], progress: Callable[[int, str], None] | None = None) -> Gathering:
        """Take returns in, in any order and as often as wanted; a refused one leaves the book untouched.

        ``progress`` is called with the number of files done and the name of the file in hand.
        """
        gathered: list[ReturnGathered] = []
        with no_collecting():
            for done, file in enumerate(files):
                if progress is not None:
                    progress(done, file.name)
                try:
                    gathered.append(self._gather_one(file))
                except QuietbellError as problem:
                    gathered.append(ReturnGathered(file.name, problem=problem))
            self.join_automatically()
            self.ledger.tidy()
            return self.summary(gathered)

    def _gather_one(self, file: Path) -> ReturnGathered:
        data = read_whole(file)
        returned = read_return(
            data,
            visit=self.ledger.about["visit"],
            tablet_keys={tablet.id: tablet.signing_public for tablet in self.tablets},
            lead_sealing_private=self._sealing().private_bytes_raw(),
        )
        fresh = self.take_in(returned, data)
        entries = self.ledger.register.entries_of(returned.device)
        name = next(tablet.name for tablet in self.tablets if tablet.id == returned.tablet_id)
        return ReturnGathered(
            file=file.name,
            tablet=name,
            device=returned.device,
            new=len(fresh),
            known=len(returned.entries) - len(fresh),
            highest=returned.highest,
            missing=missing_counters([entry.counter for entry in entries], returned.highest),
        )

    def take_in(self, returned: Return, data: bytes = b"") -> list[Entry]:
        """Take an opened return in; durable when this returns. Gives the entries that were new.

        ``data``: the bytes of the file that it came in, by which the file is known again.
        """
        news: dict[str, Any] = {"seen": self._seen_after(returned)}
        if data:
            gathered: list[str] = self.ledger.about.get("gathered", [])
            news["gathered"] = [*(mark for mark in gathered if mark != _mark(data)), _mark(data)]
        return self.ledger.take_in(returned.entries, news)

    def was_gathered(self, file: Path) -> bool:
        """Whether just this file was gathered before; one that cannot be read was not."""
        gathered = self.ledger.about.get("gathered", ())
        try:
            about = file.stat()
            known = (file, about.st_size, about.st_mtime_ns)
            if gathered and known not in self._marks:
                self._marks[known] = _mark(read_whole(file))
        except (OSError, QuietbellError):
            return False
        return self._marks.get(known) in gathered

    def _seen_after(self, returned: Return) -> dict[str, Any]:
        """What the book remembers of each device, after this return."""
        seen: dict[str, Any] = dict(self.ledger.about.get("seen", {}))
        before = seen.get(returned.device, {})
        now = self.ledger.clock.now().isoformat(timespec="seconds")
        latest = max(str(before.get("made_at", "")), returned.made_at)
        # Made later, yet with fewer entries: only a tablet restored from an older copy gives that back.
        older = returned.made_at > str(before.get("made_at", "")) and returned.highest < before.get(
            "highest", 0
        )
        seen[returned.device] = {
            "tablet_id": returned.tablet_id,
            "highest": max(int(before.get("highest", 0)), returned.highest),
            "rolled_back_to": returned.highest if older else before.get("rolled_back_to", 0),
            "handout_made_at": returned.handout_made_at,
            "received_at": returned.received_at,
            "made_at": latest,
            # An old return brought again says nothing new of the clock.
            "gathered_at": now if latest != before.get("made_at") else before.get("gathered_at", now),
        }
        return seen

    def receipt(self, device: str) -> str:
        """The code to type on a tablet whose entries have all been gathered, so that it may be wiped."""
        seen = next((each for each in self.devices() if each.device == device), None)
        if seen is None or seen.missing:
            raise Refused("Not everything of this tablet has been gathered.", todo="Gather its return first.")
        key = next(tablet.signing_public for tablet in self.tablets if tablet.id == seen.tablet_id)
        return receipt_code(key, device, seen.highest)

    def summary(self, returns: Sequence[ReturnGathered] = ()) -> Gathering:
        """What the book holds, in numbers that add up."""
        register = self.ledger.register
        standings = self.standings()
        shown = {record for standing in standings for record in standing.records}
        listed = sum(entry.id in shown for entry in register.entries(Kind.CHILD_LISTED))
        added = sum(entry.id in shown for entry in register.entries(Kind.CHILD_ADDED))
        return Gathering(
            returns=tuple(returns),
            listed=listed,
            added=added,
            joined=listed + added - len(standings),
            children=len(standings),
            statuses=self.counts(),
            joined_automatically=tuple(
                (*map(str, entry.body["records"]), tuple(entry.body.get("evidence", ())))  # type: ignore[misc]
                for entry in register.entries(Kind.SAME_CHILD)
                if entry.body.get("automatic")
            ),
        )

    # -- same child, doubts ----------------------------------------------------------------------

    def pairs(self) -> list[Pair]:
        """The matcher's pairs of records that may be one child."""
        register = self.ledger.register
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
        standing = self.ledger.register.automatic_joins()
        decided = {d.pair for d in self.ledger.register.decisions if not d.automatic}
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
            self.ledger.write(*drafts)
        return len(drafts)

    def doubts(self) -> list[Doubt]:
        """Every open doubt."""
        return find_doubts(self.ledger.register, self.pairs(), device_doubts(self.devices(), self.dates))

    def joins(self) -> list[Doubt]:
        """Every join that stands by the evidence alone, as the question that a person may yet decide."""
        return find_joins(self.ledger.register)

    def describe(self, subject: str) -> str:
        """A doubt's subject in words for the lead: who the record is, or which tablet."""
        register = self.ledger.register
        if not register.is_child(subject):
            device = next((each for each in self.devices() if each.device == subject), None)
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
        self.ledger.write(*decide(self.ledger.register, doubt, decision))
        return doubt

    def unsettle(self, doubt_id: str) -> None:
        """Take the newest decision on a doubt back: the doubt is open again."""
        self.ledger.write(*take_back(self.ledger.register, doubt_id))

    def reopen_tablet(self, store: Path, new: str) -> None:
        """Give a tablet store whose passphrase was forgotten a new one, by the key that only this book has."""
        with Vault.open(store, lead_private_key=self._sealing().private_bytes_raw()) as vault:
            vault.change_passphrase(None, new)
            vault.compact()


def _mark(data: bytes) -> str:
    """What a file is known again by."""
    return hashlib.sha256(data).hexdigest()[:32]
