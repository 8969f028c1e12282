"""The handout: what the lead makes for one tablet and the tablet takes in. No stores, no folders here.

A handout carries the visit, the tablet's part of the entries, the lead's public keys, the tablet's own signing
key, and its certificate for the local network. It is sealed to a key that is itself wrapped by the tablet's
passphrase in the header.
"""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from shared.errors import Damaged
from shared.records.entries import Entry
from shared.vault.keys import Cost, unwrap, wrap_with_passphrase
from sync.nearby.authority import Identity, holder_of
from sync.sealed import FileKind, seal, take_apart


def pack_key(raw: bytes) -> str:
    """Key bytes as text (base64)."""
    return base64.b64encode(raw).decode("ascii")


def unpack_key(text: object) -> bytes:
    """Key bytes from text; raises ``Damaged`` where they are not 32 bytes."""
    raw = _unpacked(text)
    if len(raw) != 32:
        raise Damaged("A key in this file cannot be read.", todo="Make the file again.")
    return raw


def pack_certificate(certificate: bytes) -> str:
    """A certificate (DER) as text (base64)."""
    return base64.b64encode(certificate).decode("ascii")


def unpack_certificate(text: object) -> bytes:
    """A certificate (DER) from text; raises ``Damaged`` where it is none of a visit."""
    certificate = _unpacked(text)
    holder_of(certificate)
    return certificate


def _unpacked(text: object) -> bytes:
    """Bytes from base64; none where it is not."""
    try:
        return base64.b64decode(str(text), validate=True)
    except ValueError:
        return b""


@dataclass(frozen=True, slots=True)
class Handout:
    """What one tablet gets."""

    visit: str
    school: str
    tablet: str  # its name, such as "A"
    tablet_id: str
    tablet_signing_private: bytes
    lead_signing_public: bytes
    lead_sealing_public: bytes
    book_device: str
    made_at: str
    authority: bytes  # the certificate of the visit's authority (DER)
    identity: Identity  # the tablet's own certificate and its key
    entries: tuple[Entry, ...]


def write_handout(
    handout: Handout,
    *,
    passphrase: str,
    lead_signing_private: bytes,
    random: Callable[[int], bytes],
    cost: Cost | None = None,
) -> bytes:
    """The bytes of the handout file; whoever has the passphrase can open it."""
    opener = random(32)
    receiver = X25519PrivateKey.from_private_bytes(opener).public_key().public_bytes_raw()
    header = {
        "visit": handout.visit,
        "tablet": handout.tablet_id,
        "lead": pack_key(handout.lead_signing_public),
        "opener": wrap_with_passphrase(opener, passphrase, cost=cost, random=random),
    }
    about = {
        "visit": handout.visit,
        "school": handout.school,
        "tablet": handout.tablet,
        "tablet_id": handout.tablet_id,
        "tablet_signing": pack_key(handout.tablet_signing_private),
        "lead_signing": pack_key(handout.lead_signing_public),
        "lead_sealing": pack_key(handout.lead_sealing_public),
        "book_device": handout.book_device,
        "made_at": handout.made_at,
        "authority": pack_certificate(handout.authority),
        "certificate": pack_certificate(handout.identity.certificate),
        "certificate_key": pack_key(handout.identity.key),
    }
    maker = Ed25519PrivateKey.from_private_bytes(lead_signing_private)
    return seal(FileKind.HANDOUT, header, _lines(about, handout.entries), receiver=receiver, maker=maker)


def read_handout(data: bytes, passphrase: str) -> Handout:
    """Open a handout file.

    Raises ``WrongPassphrase``, or ``ForeignFile``, ``NewerVersion``, ``Damaged`` as ``take_apart`` does.
    The lead's signing key is taken on the word of the passphrase: whoever can open the handout can also
    have made it (see the attack model in ``FORMAT.md``).
    """
    sealed = take_apart(data, FileKind.HANDOUT)
    lead = unpack_key(sealed.header.get("lead"))
    sealed.check_signature(lead)
    opener = sealed.header.get("opener")
    if not isinstance(opener, dict):
        raise Damaged(
            "This handout has no lock that a passphrase could open.", todo="Make the handout again."
        )
    receiver = X25519PrivateKey.from_private_bytes(unwrap(opener, passphrase))
    lines = sealed.unseal(receiver)
    about = next(lines)
    texts = {
        name: about_text(about, name)
        for name in ("visit", "school", "tablet", "tablet_id", "book_device", "made_at")
    }
    if unpack_key(about.get("lead_signing")) != lead:
        raise Damaged(
            "This handout was signed by another lead than it names.", todo="Make the handout again."
        )
    return Handout(
        **texts,
        tablet_signing_private=unpack_key(about.get("tablet_signing")),
        lead_signing_public=lead,
        lead_sealing_public=unpack_key(about.get("lead_sealing")),
        authority=unpack_certificate(about.get("authority")),
        identity=Identity(
            unpack_certificate(about.get("certificate")), unpack_key(about.get("certificate_key"))
        ),
        entries=tuple(Entry.from_document(line) for line in lines),
    )


def about_text(about: Mapping[str, Any], name: str) -> str:
    """A text field of a file's first line; raises ``Damaged`` where it is missing."""
    value = about.get(name)
    if not isinstance(value, str):
        raise Damaged("The first line of this file is not complete.", todo="Make the file again.")
    return value


def _lines(about: Mapping[str, Any], entries: Iterable[Entry]) -> Iterable[Mapping[str, Any]]:
    yield about
    for entry in entries:
        yield entry.to_document()
