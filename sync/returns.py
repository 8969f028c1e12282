"""The return: what a tablet gives back to the lead, sealed to the book and signed by the tablet."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from shared.errors import Damaged, ForeignFile
from shared.records.entries import Entry, Kind
from sync.handout import about_text
from sync.sealed import MAX_BODY, FileKind, seal, take_apart

#: No device writes more entries than this in one visit. Counters are counted up to, so they must have a bound.
MOST_ENTRIES = 9_999_999
#: No tablet is restored from an old copy more often; each copy's history is told apart by itself.
MOST_UNDER_ONE_ID = 16


@dataclass(frozen=True, slots=True)
class Return:
    """What one tablet gives back: every entry it knows that the book did not write."""

    visit: str
    tablet_id: str
    device: str
    handout_made_at: str  # by the lead's clock
    received_at: str  # by the tablet's clock, when it took the handout in
    made_at: str  # by the tablet's clock
    highest: int  # the tablet's own newest counter
    entries: tuple[Entry, ...]


def write_return(returned: Return, *, lead_sealing_public: bytes, tablet_signing_private: bytes) -> bytes:
    """The bytes of the return file."""
    header = {"visit": returned.visit, "tablet": returned.tablet_id}
    about = {
        "visit": returned.visit,
        "tablet_id": returned.tablet_id,
        "device": returned.device,
        "handout_made_at": returned.handout_made_at,
        "received_at": returned.received_at,
        "made_at": returned.made_at,
        "highest": returned.highest,
    }
    body = [about, *(entry.to_document() for entry in returned.entries)]
    maker = Ed25519PrivateKey.from_private_bytes(tablet_signing_private)
    return seal(FileKind.RETURN, header, body, receiver=lead_sealing_public, maker=maker)


def read_return(
    data: bytes,
    *,
    visit: str,
    tablet_keys: Mapping[str, bytes],
    lead_sealing_private: bytes,
    largest: int = MAX_BODY,
) -> Return:
    """Open a return for the book of ``visit``; ``tablet_keys`` are the tablets' public signing keys by id;
    ``largest`` bounds its body (bytes).

    Raises ``ForeignFile`` (another visit, an unknown tablet), ``NewerVersion`` or ``Damaged``.
    """
    sealed = take_apart(data, FileKind.RETURN)
    if sealed.header.get("visit") != visit:
        raise ForeignFile(
            "This return belongs to another visit.",
            kept="The book was not changed.",
            todo="Gather it with the book that its handout came from.",
        )
    maker = tablet_keys.get(str(sealed.header.get("tablet")))
    if maker is None:
        raise ForeignFile(
            "This return comes from a tablet that this book never made a handout for.",
            kept="The book was not changed.",
            todo="Use the book that made the tablet's handout; an older copy of the book may not know it.",
        )
    sealed.check_signature(maker)
    lines = sealed.unseal(X25519PrivateKey.from_private_bytes(lead_sealing_private), largest)
    about = next(lines)
    highest = about.get("highest")
    if (
        type(highest) is not int
        or not 0 <= highest <= MOST_ENTRIES
        or about.get("tablet_id") != sealed.header["tablet"]
        or about.get("visit") != visit
    ):
        raise Damaged("The first line of this return is not complete.", todo="Give back once more.")
    entries = read_entries(lines)
    if any(entry.visit != visit for entry in entries):
        raise Damaged(
            "This return holds entries of another visit.",
            kept="The book was not changed.",
            todo="Keep the file and ask for help: the tablet may have been mixed up.",
        )
    if max(Counter(entry.id for entry in entries).values(), default=0) > MOST_UNDER_ONE_ID:
        raise Damaged("An entry is numbered beyond all bounds.", kept="The book was not changed.")
    if any(entry.kind is Kind.VISIT_PREPARED for entry in entries):
        raise only_the_book_writes()
    names = ("visit", "tablet_id", "device", "handout_made_at", "received_at", "made_at")
    return Return(**{name: about_text(about, name) for name in names}, highest=highest, entries=entries)


def only_the_book_writes() -> Damaged:
    """The refusal of a return with entries that only the book writes: its own ids, or what the visit is."""
    return Damaged(
        "This return holds what only the visit book writes.",
        kept="The book was not changed.",
        todo="Keep the file and ask for help: it was not made by Quietbell.",
    )


def read_entries(lines: Iterable[Mapping[str, Any]]) -> tuple[Entry, ...]:
    """The entries of a body; raises ``Damaged`` for what is no entry or is numbered beyond all bounds."""
    entries = tuple(map(Entry.from_document, lines))
    if any(entry.id.find("@") > len(str(MOST_ENTRIES)) for entry in entries):
        raise Damaged("An entry is numbered beyond all bounds.", kept="Nothing was taken from it.")
    return entries
