"""The receipt: six digits that the lead reads out, so that a tablet may be wiped. Only that lives here."""

from __future__ import annotations

import hashlib


def receipt_code(tablet_key: bytes, device: str, highest: int) -> str:
    """The code that tells a tablet that everything up to its entry ``highest`` has been gathered.

    Both sides can work it out, so it guards against mistakes (wiping the wrong tablet, or one that went on
    after giving back), not against an attacker.
    """
    digest = hashlib.sha256(b"gathered|" + tablet_key + f"|{device}|{highest}".encode()).hexdigest()
    return f"{int(digest[:12], 16) % 1_000_000:06d}"
