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


_KINDS = {kind.value: kind for kind in Kind}
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
        self._waiting = bytearray()  # of a head that is not whole, or behind the frame that is coming in
        self._kind: Kind | None = None  # of the frame that is coming in, once its head is known
        self._frame = bytearray()
        self._filled = 0

    @property
    def partial(self) -> bool:
        """Whether a frame has begun and not ended."""
        return bool(self._waiting) or self._kind is not None

    def feed(self, data: bytes | bytearray) -> None:
        """Take bytes in: into their place in the frame that is coming, as far as it goes."""
        room = len(self._frame) - self._filled
        if not room:
            self._waiting += data
            return
        fitting = data if len(data) <= room else data[:room]
        end = self._filled + len(fitting)
        self._frame[self._filled : end] = fitting
        self._filled = end
        if len(data) > room:
            self._waiting += data[room:]

    def next(self) -> tuple[Kind, bytes] | None:
        """The next whole frame, or None until more has come; raises ``Unruly``."""
        if self._kind is None and not self._begin():
            return None
        if self._filled < len(self._frame):
            return None
        kind, payload = self._kind, bytes(self._frame)
        assert kind is not None
        self._kind, self._frame, self._filled = None, bytearray(), 0
        return kind, payload

    def _begin(self) -> bool:
        """Read the head of the next frame, if it is whole, and make room for the frame."""
        if not self._waiting:
            return False
        kind = _KINDS.get(self._waiting[0])
        if kind is None:
            raise unruly("a message of an unknown kind")
        if len(self._waiting) < _HEAD.size:
            return False
        length = _HEAD.unpack_from(self._waiting)[1]
        if length > LIMITS[kind]:
            raise unruly("a message is too large")
        come = self._waiting[_HEAD.size :]
        self._waiting = bytearray()
        self._kind, self._frame, self._filled = kind, bytearray(length), 0
        self.feed(come)
        return True
