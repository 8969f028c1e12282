"""Frames: how one transaction becomes sealed bytes, and how a run of bytes is read back.

No files and no keys' origin here; only bytes in, bytes out. ``FORMAT.md`` section 5 is the norm for sealing,
section 7 for what a reader does with bytes that do not open.
"""

from __future__ import annotations

import re
import struct
import zlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

# Length of the sealed part, number, part, nonce, tag of the frame before; then the CRC-32 of these.
_FIELDS = struct.Struct(">IQB12s16s")
_CHECK = struct.Struct(">I")
_FIELDS_BYTES = _FIELDS.size
HEADER_BYTES = _FIELDS.size + _CHECK.size
TAG_BYTES = 16
NONCE_BYTES = 12
FIRST_LINK = bytes(TAG_BYTES)

LAST_PART = 0  # the transaction ends with this frame
MORE_PARTS = 1  # the transaction goes on in the next frame

# Answers differ by a letter or two ("true", "false"): without padding a thief could read them off the
# lengths.
PADDING = 256
MOST_PAYLOAD = 8 * 1024 * 1024
_LEAST_SEALED = PADDING + TAG_BYTES
_MOST_SEALED = MOST_PAYLOAD + TAG_BYTES
_LEAST_FRAME = HEADER_BYTES + _LEAST_SEALED

CLEAN, TORN, DAMAGED = "clean", "torn", "damaged"

_NOT_ZERO = re.compile(rb"[^\0]")

_Frame = tuple[bytes, int, int]  # payload, part, where the frame ends


class Sealer:
    """Seals and opens the frames of one journal: one key, one store, one kind, one journal."""

    def __init__(self, key: bytes, *, store: bytes, journal: bytes, kind: str) -> None:
        self._cipher = ChaCha20Poly1305(key)
        self._place = b"quietbell frame 1\0" + store + journal + kind.encode() + b"\0"

    def seal(self, payload: bytes, *, number: int, part: int, link: bytes, nonce: bytes) -> bytes:
        """The whole frame; its last 16 bytes are the link for the next one."""
        padded = payload.ljust(-(-max(len(payload), 1) // PADDING) * PADDING)
        fields = _FIELDS.pack(len(padded) + TAG_BYTES, number, part, nonce, link)
        sealed = self._cipher.encrypt(nonce, padded, self._place + fields)
        return fields + _CHECK.pack(zlib.crc32(fields)) + sealed

    def open(self, fields: bytes, nonce: bytes, sealed: bytes) -> bytes:
        """The payload with its padding of spaces; raises ``InvalidTag``."""
        return self._cipher.decrypt(nonce, sealed, self._place + fields)


def sealed_parts(
    payloads: Iterable[bytes], sealer: Sealer, *, number: int, link: bytes, random: Callable[[int], bytes]
) -> Iterator[bytes]:
    """The frames of one transaction, from frame ``number`` on, which follows on ``link``."""
    waiting = iter(payloads)
    payload = next(waiting, None)
    while payload is not None:
        following = next(waiting, None)
        part = LAST_PART if following is None else MORE_PARTS
        frame = sealer.seal(payload, number=number, part=part, link=link, nonce=random(NONCE_BYTES))
        yield frame
        number, link, payload = number + 1, frame[-TAG_BYTES:], following


@dataclass(slots=True)
class Reading:
    """What a run of frames held.

    ``payloads`` are those of finished transactions, in order. The next frame goes to ``end``, with ``number``
    and ``link``. ``gaps`` are the byte ranges that could not be read although frames after them could, and
    ``lost`` how many frames they held at least. ``tail`` says what stands behind ``end``: nothing but reserve
    (clean), a write that never finished (torn), or bytes whole in length that do not open (damaged).
    """

    end: int
    number: int = 1
    link: bytes = FIRST_LINK
    payloads: list[bytes] = field(default_factory=list)
    transactions: int = 0
    gaps: list[tuple[int, int]] = field(default_factory=list)
    lost: int = 0
    tail: str = CLEAN


def read(data: bytes, start: int, sealer: Sealer, *, number: int = 1, link: bytes = FIRST_LINK) -> Reading:
    """Read all frames from ``start``, where frame ``number`` is due; never raises, whatever the bytes hold."""
    reading = Reading(start, number, link)
    position = start
    parts: list[bytes] = []  # of the transaction whose last frame has not come yet
    total = len(data)
    damage: tuple[int, int] | None = None  # where it begins, and the number that was due there
    while position < total:
        found = _frame_at(data, position, number, link, sealer)
        if not isinstance(found, str):
            if damage is not None:
                reading.gaps.append((damage[0], position))
                reading.lost += max(number - damage[1], 1)
                damage = None
            # What is left of a transaction that lost a part still counts: each part stands by itself.
            payload, part, position = found
            parts.append(payload)
            number, link = number + 1, data[position - TAG_BYTES : position]
            if part == LAST_PART:
                reading.payloads += parts
                reading.transactions += 1
                reading.end, reading.number, reading.link = position, number, link
                parts = []
            continue
        if found == CLEAN:
            break
        # A whole frame may stand right here, only not the one that is due.
        later = _later_frame(data, position, number, sealer)
        if later is None:
            reading.tail = found
            break
        damage = damage or (position, number)
        position, number, link = later
    if position > reading.end and reading.tail == CLEAN:
        reading.tail = TORN
    # A gap behind the last finished transaction is a matter of the tail.
    if reading.gaps and reading.gaps[-1][0] >= reading.end:
        reading.tail = DAMAGED
        reading.gaps = [gap for gap in reading.gaps if gap[0] < reading.end]
    return reading


def _frame_at(data: bytes, position: int, number: int, link: bytes, sealer: Sealer) -> _Frame | str:
    """The frame that is due here, or what stands here instead: reserve (clean), a torn write, or damage."""
    body = position + HEADER_BYTES
    if body > len(data):
        return CLEAN if _only_zeros(data, position) else TORN
    fields = data[position : position + _FIELDS_BYTES]
    (check,) = _CHECK.unpack_from(data, position + _FIELDS_BYTES)
    if check != zlib.crc32(fields):
        if _only_zeros(data, body):
            return CLEAN if _only_zeros(data, position) else TORN
        return DAMAGED
    length, found_number, part, nonce, found_link = _FIELDS.unpack(fields)
    if found_number != number or found_link != link or part > MORE_PARTS:
        return DAMAGED
    if not _LEAST_SEALED <= length <= _MOST_SEALED:
        return DAMAGED
    end = body + length
    if end > len(data):
        return TORN
    try:
        return sealer.open(fields, nonce, data[body:end]), part, end
    except InvalidTag:
        # A write that stopped half-way leaves the reserve's zeros where its tag should stand.
        return TORN if _only_zeros(data, end - TAG_BYTES) else DAMAGED


def _only_zeros(data: bytes, start: int) -> bool:
    return not any(data[start : start + 64]) and data.count(0, start) == len(data) - start


def _later_frame(data: bytes, position: int, number: int, sealer: Sealer) -> tuple[int, int, bytes] | None:
    """The next place where a frame of this number or a later one opens: position, number, link; or None.

    A frame's number is below 2^32 in any real store, so its eight bytes begin with four zeros: that is what is
    searched for, instead of trying the cipher at every byte. Whether the frame also follows on the one before
    the damage cannot be known; that it belongs to this journal and bears this number can.
    """
    highest = number + (len(data) - position) // _LEAST_FRAME + 1
    while (zeros := data.find(b"\0\0\0\0", position + 4)) >= 0:
        position = zeros - 4
        fields = data[position : position + _FIELDS_BYTES]
        if len(fields) < _FIELDS_BYTES:
            return None
        found, link = _FIELDS.unpack(fields)[1::3]
        if number <= found <= highest:
            frame = _frame_at(data, position, found, link, sealer)
            if not isinstance(frame, str):
                return position, found, link
        if found == 0:
            # A run of zeros, be it the whole reserve: on to the first place where a number could end it.
            other = _NOT_ZERO.search(data, position + 4)
            if other is None:
                return None
            position = max(position, other.start() - 12)
        position += 1
    return None
