"""News: what the lead sends back to a tablet during the day, sealed to one talk and signed by the lead."""

from __future__ import annotations

from collections.abc import Iterable

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from shared.records.entries import Entry
from sync.nearby.troubles import batch_altered
from sync.returns import read_entries
from sync.sealed import FileKind, seal, take_apart


def write_news(
    entries: Iterable[Entry], *, visit: str, tablet_id: str, news_key: bytes, lead_signing_private: bytes
) -> bytes:
    """The bytes of a batch for the tablet; ``news_key`` is the public key that it drew for this talk."""
    about = {"visit": visit, "tablet_id": tablet_id}
    body = [about, *(entry.to_document() for entry in entries)]
    maker = Ed25519PrivateKey.from_private_bytes(lead_signing_private)
    header = {"visit": visit, "tablet": tablet_id}
    return seal(FileKind.NEWS, header, body, receiver=news_key, maker=maker)


def read_news(
    data: bytes,
    *,
    visit: str,
    tablet_id: str,
    key: X25519PrivateKey,
    lead_signing_public: bytes,
    largest: int,
) -> tuple[Entry, ...]:
    """The entries of a batch; raises ``ForeignFile``, ``NewerVersion`` or ``Damaged``."""
    sealed = take_apart(data, FileKind.NEWS)
    sealed.check_signature(lead_signing_public)
    lines = sealed.unseal(key, largest)
    about = next(lines)
    entries = read_entries(lines)
    if (about.get("visit"), about.get("tablet_id")) != (visit, tablet_id):
        raise batch_altered()
    if any(entry.visit != visit for entry in entries):
        raise batch_altered()
    return entries
