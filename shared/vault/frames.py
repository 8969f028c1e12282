"""Frames: how one transaction becomes sealed bytes, and how a run of bytes is read back.

No files and no keys' origin here; only bytes in, bytes out. ``FORMAT.md`` section 5 is the norm.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305

# length of the sealed part, number, part, nonce, tag of the frame before; then the CRC-32 of these.
_FIELDS = struct.Struct(">IQB12s16s")
_CHECK = struct.Struct(">I")
HEADER_BYTES = _FIELDS.size + _CHECK.size
TAG_BYTES = 16
NONCE_BYTES = 12
FIRST_LINK = bytes(TAG_BYTES)

LAST_PART = 0  # the transaction ends with this frame
MORE_PARTS = 1  # the transaction goes on in the next frame

# Answers differ by a letter or two ("true", "false"): without padding a thief could read them off the lengths.
PADDING = 256
MOST_PAYLOAD = 8 * 1024 * 1024
_MOST_SEALED = MOST_PAYLOAD + TAG_BYTES
_SMALLEST_FRAME = HEADER_BYTES + PADDING + TAG_BYTES


class Sealer:
    """Seals and opens the frames of one journal: one key, one store, one kind, one journal."""

    def __init__(self, key: bytes, *, store: bytes, journal: bytes, kind: str) -> None:
        self._cipher = ChaCha20Poly1305(key)
        self._place = b"quietbell frame 1\0" + store + journal + kind.encode() + b"\0"

    def seal(self, payload: bytes, *, number: int, part: int, link: bytes, nonce: bytes) -> bytes:
        """The whole frame; its last 16 bytes are the link for the next one."""
        padded = payload + b" " * (-len(payload) % PADDING or (0 if payload else PADDING))
        fields = _FIELDS.pack(len(padded) + TAG_BYTES, number, part, nonce, link)
        sealed = self._cipher.encrypt(nonce, padded, self._place + fields)
        return fields + _CHECK.pack(zlib.crc32(fields)) + sealed

    def open(self, fields: bytes, nonce: bytes, sealed: bytes) -> bytes:
        """The payload with its padding of spaces; raises ``InvalidTag``."""
        return self._cipher.decrypt(nonce, sealed, self._place + fields)


@dataclass(slots=True)
class Reading:
    """What a run of frames held.

    ``payloads`` are those of finished transactions, in order. The next frame goes to ``end`` with ``number``
    and ``link``. ``gaps`` are the byte ranges inside the run that could not be read although frames after them
    could. ``tail`` says what stands after ``end``: nothing, a torn write, or bytes whole in length that do not
    open.
    """

    payloads: list[bytes] = field(default_factory=list)
    end: int = 0
    number: int = 1
    link: bytes = FIRST_LINK
    gaps: list[tuple[int, int]] = field(default_factory=list)
    lost: int = 0
    transactions: int = 0
    tail: str = "clean"  # clean | torn | damaged


def read(data: bytes, start: int, sealer: Sealer) -> Reading:
    """Read all frames from ``start``; never raises on what the bytes hold."""
    reading = Reading(end=start)
    position, number, link = start, 1, FIRST_LINK
    open_parts: list[bytes] = []
    total = len(data)
    gap_from: int | None = None
    whole = False  # whether bytes that cannot be read were whole in length
    gap_number = 1
    while position < total:
        frame = _frame_at(data, position, number, link, sealer)
        if isinstance(frame, _Frame):
            if gap_from is not None:
                reading.gaps.append((gap_from, position))
                reading.lost += max(frame.number - gap_number, 1)
                # What is left of a transaction that lost a part still counts: each part stands by itself.
                gap_from = None
            open_parts.append(frame.payload)
            position, number, link = frame.end, frame.number + 1, frame.tag
            if frame.part == LAST_PART:
                reading.payloads += open_parts
                reading.transactions += 1
                open_parts.clear()
                reading.end, reading.number, reading.link = position, number, link
            continue
        if gap_from is None:
            gap_from, gap_number = position, number
        whole = whole or frame == "damaged"
        found = _next_frame(data, position + 1, number, sealer)
        if found is None:
            reading.tail = "damaged" if whole else "torn"
            break
        position, number, link = found
    else:
        if reading.end < total:
            reading.tail = "torn"
    # A gap that turned out to lie behind the last finished transaction belongs to the tail.
    behind = [gap for gap in reading.gaps if gap[0] >= reading.end]
    if behind:
        reading.tail = "damaged"
        reading.gaps = [gap for gap in reading.gaps if gap[0] < reading.end]
    return reading


@dataclass(frozen=True, slots=True)
class _Frame:
    payload: bytes
    number: int
    part: int
    tag: bytes
    end: int


def _frame_at(data: bytes, position: int, number: int, link: bytes, sealer: Sealer) -> _Frame | str:
    """The frame that should stand here, or why not: ``torn`` or ``damaged``."""
    body = position + HEADER_BYTES
    if body > len(data):
        return "torn"
    fields = data[position : position + _FIELDS.size]
    (check,) = _CHECK.unpack_from(data, position + _FIELDS.size)
    if check != zlib.crc32(fields):
        # A file system may have grown the file and lost the bytes: zeros to the end are a torn write.
        return "torn" if not any(data[position:]) else "damaged"
    length, found_number, part, nonce, found_link = _FIELDS.unpack(fields)
    if found_number != number or found_link != link or part > MORE_PARTS:
        return "damaged"
    if length > _MOST_SEALED or length < PADDING + TAG_BYTES:
        return "damaged"
    end = body + length
    if end > len(data):
        return "torn"
    try:
        payload = sealer.open(fields, nonce, data[body:end])
    except InvalidTag:
        return "damaged"
    return _Frame(payload, number, part, data[end - TAG_BYTES : end], end)


def _next_frame(data: bytes, position: int, number: int, sealer: Sealer) -> tuple[int, int, bytes] | None:
    """The next place where a later frame opens: its position, number and link; None where there is none.

    A frame's number is below 2^32 in any real store, so its eight bytes begin with four zeros: that is what
    is searched for, instead of trying a cipher at every byte.
    """
    highest = number + (len(data) - position) // _SMALLEST_FRAME + 1
    while (zeros := data.find(b"\0\0\0\0", position + 4)) >= 0:
        position = zeros - 4
        fields = data[position : position + _FIELDS.size]
        if len(fields) < _FIELDS.size:
            return None
        _, found, _, _, link = _FIELDS.unpack(fields)
        if number <= found <= highest and isinstance(_frame_at(data, position, found, link, sealer), _Frame):
            return position, found, link
        position += 1
    return None


def sealed_parts(
    payloads: Iterable[bytes], sealer: Sealer, *, number: int, link: bytes, random: Callable[[int], bytes]
) -> tuple[bytes, int, bytes]:
    """One transaction as frames: the bytes, the next number, the next link."""
    parts = list(payloads)
    frames = []
    for index, payload in enumerate(parts):
        part = LAST_PART if index == len(parts) - 1 else MORE_PARTS
        frame = sealer.seal(payload, number=number, part=part, link=link, nonce=random(NONCE_BYTES))
        frames.append(frame)
        number, link = number + 1, frame[-TAG_BYTES:]
    return b"".join(frames), number, link
