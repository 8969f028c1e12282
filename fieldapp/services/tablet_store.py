"""A tablet's store from the handout to the wiping: made, opened, given back to the lead, wiped. No Kivy.

What lies in the sealed files is ``sync.handout``'s and ``sync.returns``'s, the store itself ``shared.vault``'s.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fieldapp.platform.clock import Clock
from fieldapp.platform.files import read_whole, write_whole
from fieldapp.platform.randomness import new_device_id
from fieldapp.services.ledger import Ledger
from fieldapp.services.receipt import receipt_code
from shared.errors import ForeignFile, Refused
from shared.records.entries import Kind
from shared.vault import Cost, Vault
from sync.handout import Handout, pack_certificate, pack_key, read_handout, unpack_key
from sync.returns import Return, write_return


def make_store(
    handout: Path, store: Path, passphrase: str, *, clock: Clock, store_passphrase: str, cost: Cost | None
) -> Ledger:
    """Take a handout in and make the tablet store; the tablet gets a device id of its own.

    Raises ``Refused`` where the store exists already, ``WrongPassphrase`` and the errors of sealed files.
    """
    if store.exists():
        raise Refused(
            "There is already a store at this place.",
            kept="It was not touched.",
            todo="Choose another place, or give that store back first.",
        )
    taken = read_handout(read_whole(handout), passphrase)
    received_at = clock.now().isoformat(timespec="seconds")
    vault = Vault.create(
        store,
        kind="tablet",
        passphrase=store_passphrase,
        lead_public_key=taken.lead_sealing_public,
        cost=cost,
    )
    with vault.transaction():
        ledger = Ledger.begin(vault, clock, _about(taken, received_at))
        ledger.take_in(taken.entries)
        named = {"tablet": taken.tablet, "tablet_id": taken.tablet_id, "received_at": received_at}
        ledger.write((Kind.TABLET_NAMED, named))
    return ledger


def _about(taken: Handout, received_at: str) -> dict[str, Any]:
    """What the store says of itself; the keys and certificates are the handout's."""
    return {
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
    }


def open_store(store: Path, passphrase: str, *, clock: Clock) -> Ledger:
    """Open a tablet store; raises ``ForeignFile`` for a visit book, and the vault's errors."""
    book = ForeignFile("This is a visit book, not a tablet store.", todo="Open it as the lead.")
    return Ledger.open(store, passphrase, clock, kind="tablet", otherwise=book)


def give_back(ledger: Ledger, file: Path) -> int:
    """Write the return for the lead; gives how many entries it holds. The store stays as it is."""
    about = ledger.about
    entries = tuple(e for e in ledger.register.all_variants() if e.device != about["book_device"])
    returned = Return(
        visit=str(about["visit"]),
        tablet_id=str(about["tablet_id"]),
        device=ledger.device,
        handout_made_at=str(about["handout_made_at"]),
        received_at=str(about["received_at"]),
        made_at=ledger.clock.now().isoformat(timespec="seconds"),
        highest=ledger.counter,
        entries=entries,
    )
    data = write_return(
        returned,
        lead_sealing_public=unpack_key(about["lead_sealing"]),
        tablet_signing_private=unpack_key(about["signing"]),
    )
    write_whole(file, data)
    return len(entries)


def wipe(ledger: Ledger, code: str) -> None:
    """Close and wipe the store, given the receipt code that the lead reads out after gathering its return.

    Raises ``Refused`` where the code is another tablet's, or where the tablet went on after giving back.
    """
    signing = Ed25519PrivateKey.from_private_bytes(unpack_key(ledger.about["signing"]))
    key = signing.public_key().public_bytes_raw()
    if code.replace(" ", "") != receipt_code(key, ledger.device, ledger.counter):
        raise Refused(
            "This code does not belong to what is on this tablet.",
            kept="Nothing was wiped.",
            todo="Compare it with the code in the lead's book. "
            "If it is the same, give back and have it gathered again.",
        )
    path = ledger.vault.path
    ledger.close()
    Vault.wipe(path)
