"""A visit book from its making on: made from a roster, opened, its keys, its tablets and their handouts. No Kivy.

What lies in the sealed files is ``sync.handout``'s, the store itself ``shared.vault``'s.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from fieldapp.platform.clock import Clock
from fieldapp.platform.files import write_whole
from fieldapp.platform.randomness import new_device_id, random_bytes
from fieldapp.services.exemptions import exemption_drafts
from fieldapp.services.ledger import Ledger
from fieldapp.services.roll import children_of, on_the_roll
from shared.errors import ForeignFile, Refused
from shared.hearing.protocol import Protocol
from shared.records.entries import LISTINGS, STAYS_IN_THE_BOOK, Kind
from shared.records.people import person_body
from shared.records.standing import Person
from shared.vault import Cost, Vault
from shared.vault.keys import lead_key_pair
from sync.devices import DeviceSeen
from sync.handout import Handout, pack_certificate, pack_key, unpack_certificate, unpack_key, write_handout
from sync.nearby.authority import Authority, Identity, Role


@dataclass(frozen=True, slots=True)
class Tablet:
    """A tablet that a handout was made for. ``classes`` empty: it has every class."""

    id: str
    name: str
    signing_public: bytes
    classes: tuple[str, ...]
    made_at: str
    handouts: tuple[str, ...] = ()  # when each was made; empty: not kept (before 2026-12)


def make_book(
    book: Path,
    passphrase: str,
    *,
    school: str,
    people: Sequence[Person],
    protocol: Protocol,
    dates: Sequence[date],
    lead: str,
    clock: Clock,
    cost: Cost | None,
) -> Ledger:
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
    sealing, sealing_public = lead_key_pair(random_bytes)
    signing = Ed25519PrivateKey.generate()
    visit = new_device_id()
    authority = Authority.make(visit, clock.now()).identity
    about = {
        "device": new_device_id(),
        "visit": visit,
        "screener": lead,
        "sealing": pack_key(sealing),
        "signing": pack_key(signing.private_bytes_raw()),
        "authority": pack_certificate(authority.certificate),
        "authority_key": pack_key(authority.key),
        "tablets": [],
        "seen": {},
    }
    vault = Vault.create(book, kind="book", passphrase=passphrase, lead_public_key=sealing_public, cost=cost)
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
    return ledger


def open_book(book: Path, passphrase: str, *, clock: Clock) -> Ledger:
    """Open a visit book; raises ``ForeignFile`` for a tablet store, and the vault's errors."""
    store = ForeignFile("This is a tablet store, not a visit book.", todo="Choose the visit book.")
    return Ledger.open(book, passphrase, clock, kind="book", otherwise=store)


def sealing_of(ledger: Ledger) -> bytes:
    """The book's own private key (X25519), that returns are sealed to."""
    return unpack_key(ledger.about["sealing"])


def authority_of(ledger: Ledger) -> Authority:
    """The visit's own authority, under which its devices talk over the local network."""
    about = ledger.about
    return Authority(
        Identity(unpack_certificate(about.get("authority")), unpack_key(about.get("authority_key")))
    )


def tablets_of(ledger: Ledger) -> list[Tablet]:
    """The tablets that handouts were made for."""
    return [
        Tablet(
            t["id"],
            t["name"],
            unpack_key(t["signing_public"]),
            tuple(t.get("classes", ())),
            t["made_at"],
            tuple(t.get("handouts", ())),
        )
        for t in ledger.about.get("tablets", [])
    ]


def devices_of(ledger: Ledger) -> list[DeviceSeen]:
    """Every tablet that has given back, and every handout that nothing has come back from."""
    tablets = tablets_of(ledger)
    seen = ledger.about.get("seen", {})
    names = {tablet.id: tablet.name for tablet in tablets}
    found = [
        DeviceSeen.from_record(
            device,
            names.get(record.get("tablet_id"), "?"),
            record,
            ledger.register.entries_of(device),
        )
        for device, record in sorted(seen.items())
    ]
    heard_of = {device.tablet_id for device in found}
    found += [DeviceSeen.silent(tablet.id, tablet.name) for tablet in tablets if tablet.id not in heard_of]
    return sorted(found, key=lambda device: (device.name, device.device))


def records_of_classes(ledger: Ledger, classes: Sequence[str]) -> set[str]:
    """The records of every child in those classes; of every child where none is named.

    Without leavers who were never seen, and without working out any other child's result: a listening lead
    asks this again for every tablet that calls.
    """
    register = ledger.register
    return {
        member
        for record, person in register.people().items()
        if not classes or person.class_name in classes
        if not person.left or on_the_roll([register.standing(record)])
        for member in register.records_of(record)
    }


def hand_out(
    ledger: Ledger,
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
    known = {standing.person.class_name for standing in children_of(ledger.register)}
    if unknown := [each for each in classes if each not in known]:
        raise Refused(
            f"There is no class {unknown[0]} on the roster.", todo="Choose from the classes listed."
        )
    about, authority = ledger.about, authority_of(ledger)
    made_at = ledger.clock.now().isoformat(timespec="seconds")
    known_as = next((t for t in about["tablets"] if t["name"] == name), None) or _new_tablet(name)
    record = {**known_as, "classes": list(classes), "made_at": made_at}
    if "handouts" in known_as:
        record["handouts"] = [*known_as["handouts"], made_at]
    others = [t for t in about["tablets"] if t["name"] != name]
    lead_signing = unpack_key(about["signing"])
    wanted = records_of_classes(ledger, classes)
    entries = tuple(
        entry
        for entry in ledger.register.all_variants()
        if entry.kind not in STAYS_IN_THE_BOOK
        and (
            not entry.subjects
            or wanted.intersection(entry.subjects)
            or ledger.register.is_doubled(entry.device)  # only the whole tells its histories apart
        )
    )
    handout = Handout(
        visit=about["visit"],
        school=str(ledger.register.visit["school"]),
        tablet=name,
        tablet_id=record["id"],
        tablet_signing_private=unpack_key(record["signing"]),
        lead_signing_public=Ed25519PrivateKey.from_private_bytes(lead_signing)
        .public_key()
        .public_bytes_raw(),
        lead_sealing_public=X25519PrivateKey.from_private_bytes(sealing_of(ledger))
        .public_key()
        .public_bytes_raw(),
        book_device=about["device"],
        made_at=made_at,
        authority=authority.certificate,
        identity=authority.issue(Role.TABLET, record["id"], ledger.clock.now()),
        entries=entries,
    )
    data = write_handout(
        handout, passphrase=passphrase, lead_signing_private=lead_signing, random=random_bytes, cost=cost
    )
    # The book must know the tablet's key before the file can be carried anywhere.
    ledger.tell(tablets=[*others, record])
    write_whole(file, data)
    return len({entry.id for entry in entries if entry.kind in LISTINGS})


def _new_tablet(name: str) -> dict[str, Any]:
    """What the book keeps of a tablet that it makes a first handout for."""
    signing = Ed25519PrivateKey.generate()
    return {
        "id": new_device_id(),
        "name": name,
        "signing": pack_key(signing.private_bytes_raw()),
        "signing_public": pack_key(signing.public_key().public_bytes_raw()),
        "handouts": [],
    }
