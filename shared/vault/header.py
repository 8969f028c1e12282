"""The header: two copies of one block that say what the file is and hold its key slots.

No files here, only bytes. ``FORMAT.md`` section 2 is the norm.
"""

from __future__ import annotations

import hmac
import json
import struct
from dataclasses import dataclass, replace
from typing import Any

from shared.errors import Damaged, ForeignFile, NewerVersion
from shared.vault.keys import Slot, canonical, checksum, derived, mac

MAGIC = b"QUIETBELL-STORE\n"
VERSION = 1
BLOCK_BYTES = 4096
COPIES = 2
JOURNAL_START = BLOCK_BYTES * COPIES
KINDS = ("tablet", "book")

_FIXED = struct.Struct(">HH")  # version, length of the JSON text
_TEXT_START = len(MAGIC) + _FIXED.size
_SEALS = 32 + 32  # HMAC, then checksum
_MOST_TEXT = BLOCK_BYTES - _TEXT_START - _SEALS
_MOST_SLOTS = 4


@dataclass(frozen=True, slots=True)
class Header:
    """What the block says. ``turn`` grows with every change, ``journal`` is drawn anew by a compaction."""

    kind: str
    store: bytes
    journal: bytes
    slots: tuple[Slot, ...]
    turn: int = 1

    @property
    def context(self) -> bytes:
        """What binds a key slot to this store."""
        return self.store + self.kind.encode()

    def slot(self, kind: str) -> Slot | None:
        """The slot of type ``passphrase`` or ``lead``, or None."""
        return next((slot for slot in self.slots if slot.get("type") == kind), None)

    def with_slot(self, new: Slot) -> Header:
        """The next turn, with this slot in the place of the one of its type."""
        others = tuple(slot for slot in self.slots if slot.get("type") != new["type"])
        return replace(self, slots=(new, *others), turn=self.turn + 1)

    def to_block(self, store_key: bytes) -> bytes:
        """The block, checked by the store key and by a plain checksum."""
        text = canonical(
            {
                "kind": self.kind,
                "store": self.store.hex(),
                "journal": self.journal.hex(),
                "slots": list(self.slots),
                "turn": self.turn,
            }
        )
        if len(text) > _MOST_TEXT:
            raise ValueError("the header does not fit its block")
        body = MAGIC + _FIXED.pack(VERSION, len(text)) + text
        body += mac(_header_key(store_key), body)
        return (body + checksum(body)).ljust(BLOCK_BYTES, b"\0")


@dataclass(frozen=True, slots=True)
class FoundHeader:
    """The header in force and the block it came from.

    ``both_whole``: neither copy is damaged. ``both_same``: and they say the same; a crash between the two
    writes of a change leaves an older and a newer one.
    """

    header: Header
    block: bytes
    both_whole: bool
    both_same: bool

    def require_key(self, store_key: bytes) -> None:
        """Raise ``Damaged`` where the header was not written with this key: someone edited it."""
        end = _TEXT_START + _FIXED.unpack_from(self.block, len(MAGIC))[1]
        if not hmac.compare_digest(mac(_header_key(store_key), self.block[:end]), self.block[end : end + 32]):
            raise Damaged(
                "The head of this file was changed by something other than Quietbell.",
                kept="The file was left as it is.",
                todo="Use another copy of the file.",
            )


def find(data: bytes) -> FoundHeader:
    """The newest good copy; raises ``ForeignFile``, ``NewerVersion`` or ``Damaged`` where there is none."""
    blocks = [data[index * BLOCK_BYTES : (index + 1) * BLOCK_BYTES] for index in range(COPIES)]
    good = [(header, block) for block in blocks if (header := _parsed(block)) is not None]
    if good:
        header, block = max(good, key=lambda found: found[0].turn)
        return FoundHeader(header, block, len(good) == COPIES, blocks[0] == blocks[1])
    ours = [block for block in blocks if block.startswith(MAGIC)]
    if not ours:
        if any(_nearly_ours(block) for block in blocks):
            raise _damaged()
        raise ForeignFile(
            "This is not a Quietbell store.", kept="It was not touched.", todo="Choose another file."
        )
    if all(len(block) >= _TEXT_START and _version(block) > VERSION for block in ours):
        raise NewerVersion(
            "This file was written by a newer Quietbell.",
            kept="It was not touched.",
            todo="Update Quietbell on this device and open the file again.",
        )
    raise _damaged()


def _damaged() -> Damaged:
    return Damaged(
        "The head of this file is damaged in both of its copies.",
        kept="The file was left as it is.",
        todo="Use another copy of the file; do not delete this one.",
    )


def _nearly_ours(block: bytes) -> bool:
    """A magic with at most two wrong bytes is ours and damaged, not someone else's file."""
    start = block[: len(MAGIC)]
    return len(start) == len(MAGIC) and sum(a != b for a, b in zip(start, MAGIC, strict=True)) <= 2


def _version(block: bytes) -> int:
    version: int = _FIXED.unpack_from(block, len(MAGIC))[0]
    return version


def _parsed(block: bytes) -> Header | None:
    """The header in a block, or None where the block is not whole, not ours or not of this version."""
    if len(block) != BLOCK_BYTES or not block.startswith(MAGIC) or _version(block) != VERSION:
        return None
    end = _TEXT_START + _FIXED.unpack_from(block, len(MAGIC))[1] + 32
    if end + 32 > BLOCK_BYTES or block[end : end + 32] != checksum(block[:end]) or any(block[end + 32 :]):
        return None
    try:
        return _from_json(json.loads(block[_TEXT_START : end - 32]))
    except (KeyError, TypeError, ValueError, RecursionError):
        return None


def _from_json(said: dict[str, Any]) -> Header:
    store, journal = bytes.fromhex(said["store"]), bytes.fromhex(said["journal"])
    kind, slots, turn = said["kind"], said["slots"], said["turn"]
    if kind not in KINDS or len(store) != 16 or len(journal) != 16 or type(turn) is not int or turn < 1:
        raise ValueError
    if not isinstance(slots, list) or not 1 <= len(slots) <= _MOST_SLOTS:
        raise ValueError
    if not all(isinstance(slot, dict) and isinstance(slot.get("type"), str) for slot in slots):
        raise ValueError
    return Header(kind, store, journal, tuple(slots), turn)


def _header_key(store_key: bytes) -> bytes:
    return derived(store_key, "header 1")
