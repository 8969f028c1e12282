"""Frames: how messages are cut out of a stream of bytes, with a limit on each kind. No sockets, no meaning.

A frame is one byte of kind, four bytes of length (big-endian) and that many bytes. A length beyond the kind's limit
is refused when it is announced, so a reader never holds more than one frame and one read.
"""

from __future__ import annotations

import struct
from enum import IntEnum

from sync.nearby.troubles import unruly

_HEAD = struct.Struct(">BI")


class Kind(IntEnum):
    """What a frame holds."""

    HELLO = 1
    WELCOME = 2
    ACCOUNT = 3
    BATCH = 4
    ACK = 5
    END = 6
    REFUSAL = 7


MOST_BATCH = 2 * 1024 * 1024
MOST_ACCOUNT = 1024 * 1024
LIMITS = {
    Kind.HELLO: 4096,
    Kind.WELCOME: 4096,
    Kind.ACCOUNT: MOST_ACCOUNT,
    Kind.BATCH: MOST_BATCH,
    Kind.ACK: 1024,
    Kind.END: 1024,
    Kind.REFUSAL: 1024,
}


def frame(kind: Kind, payload: bytes) -> bytes:
    """The bytes of one frame; raises ``Unruly`` where it is larger than its kind allows."""
    if len(payload) > LIMITS[kind]:
        raise unruly(f"a message of kind {kind.value} would be too large")
    return _HEAD.pack(kind, len(payload)) + payload


class FrameReader:
    """Takes bytes as they come and gives whole frames, one at a time."""

    def __init__(self) -> None:
        self._buffer = bytearray()
        self._wanted = 1  # so many bytes must be there before looking again is of any use

    @property
    def partial(self) -> bool:
        """Whether a frame has begun and not ended."""
        return bool(self._buffer)

    def feed(self, data: bytes) -> None:
        """Take bytes in."""
        self._buffer += data

    def next(self) -> tuple[Kind, bytes] | None:
        """The next whole frame, or None until more has come; raises ``Unruly``."""
        if len(self._buffer) < self._wanted:
            return None
        try:
            kind = Kind(self._buffer[0])
        except ValueError:
            raise unruly("a message of an unknown kind") from None
        self._wanted = _HEAD.size
        if len(self._buffer) < self._wanted:
            return None
        length = _HEAD.unpack_from(self._buffer)[1]
        if length > LIMITS[kind]:
            raise unruly("a message is too large")
        end = self._wanted = _HEAD.size + length
        if len(self._buffer) < end:
            return None
        with memoryview(self._buffer) as whole:
            payload = bytes(whole[_HEAD.size : end])
        del self._buffer[:end]
        self._wanted = 1
        return kind, payload
