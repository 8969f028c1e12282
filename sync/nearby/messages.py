"""What the frames say: each message as a value, to bytes and back, every field checked. No order of messages here."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from sync.handout import pack_key, unpack_key
from sync.nearby.frames import MOST_ACCOUNT, Kind
from sync.nearby.troubles import Code, unruly
from sync.returns import MOST_ENTRIES

#: The protocol's version. The form of HELLO, WELCOME and REFUSAL never changes, so that any two versions can part.
VERSION = 1
_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=True)
_ID = re.compile(r"[A-Za-z0-9._-]{1,64}\Z")
_DIGEST = re.compile(r"[0-9a-f]{32}\Z")


@dataclass(frozen=True, slots=True)
class Hello:
    """The tablet's first word. ``news_key`` is the X25519 public key, of this talk only, that news is sealed to;
    ``highest`` the counter of the device's newest entry."""

    version: int
    visit: str
    tablet_id: str
    device: str
    highest: int
    news_key: bytes

    kind = Kind.HELLO

    def encode(self) -> bytes:
        """As bytes."""
        return _json({**asdict(self), "news_key": pack_key(self.news_key)})

    @classmethod
    def decode(cls, payload: bytes) -> Hello:
        """From bytes; raises ``Unruly``. Of another version only ``version`` is read."""
        fields = _object(payload)
        version = _count(fields, "version", least=1)
        if version != VERSION:
            return cls(version, "", "", "", 0, bytes(32))
        visit, tablet_id, device = (_id(fields, name) for name in ("visit", "tablet_id", "device"))
        key = unpack_key(fields.get("news_key"))
        return cls(version, visit, tablet_id, device, _count(fields, "highest"), key)


@dataclass(frozen=True, slots=True)
class Welcome:
    """The lead's first word: the protocol version it will speak."""

    version: int

    kind = Kind.WELCOME

    def encode(self) -> bytes:
        """As bytes."""
        return _json(asdict(self))

    @classmethod
    def decode(cls, payload: bytes) -> Welcome:
        """From bytes; raises ``Unruly``."""
        return cls(_count(_object(payload), "version", least=1))


@dataclass(frozen=True, slots=True)
class Span:
    """An unbroken run of one device's counters, and a digest (16 bytes) of what is held under them."""

    first: int
    last: int
    digest: bytes


@dataclass(frozen=True, slots=True)
class Account:
    """What one side holds, by device. Leaving a span out is always allowed; it only costs sending it again."""

    devices: Mapping[str, tuple[Span, ...]]

    kind = Kind.ACCOUNT

    def encode(self) -> bytes:
        """As bytes; spans that would not fit are left out."""
        told: dict[str, list[tuple[int, int, str]]] = {}
        room = MOST_ACCOUNT - 1024
        for device, spans in self.devices.items():
            room -= len(device) + 16
            fitting = max(0, min(len(spans), room // 64))
            if room <= 0:
                break
            told[device] = [(span.first, span.last, span.digest.hex()) for span in spans[:fitting]]
            room -= fitting * 64
        return _json({"devices": told})

    @classmethod
    def decode(cls, payload: bytes) -> Account:
        """From bytes; raises ``Unruly`` unless spans are in order and apart."""
        devices = _object(payload).get("devices")
        if not isinstance(devices, dict) or not all(_ID.match(device) for device in devices):
            raise unruly("an account names no devices")
        return cls({device: _spans(told) for device, told in devices.items()})


@dataclass(frozen=True, slots=True)
class Batch:
    """Entries on their way: to the lead a sealed, signed return; to the tablet sealed, signed news."""

    data: bytes

    kind = Kind.BATCH

    def encode(self) -> bytes:
        """As bytes."""
        return self.data

    @classmethod
    def decode(cls, payload: bytes) -> Batch:
        """From bytes; what is inside is checked by whoever takes it in."""
        return cls(payload)


@dataclass(frozen=True, slots=True)
class Ack:
    """The batch of that number (from 1) is durable on the side that says so; ``new`` of its entries were new."""

    batch: int
    new: int

    kind = Kind.ACK

    def encode(self) -> bytes:
        """As bytes."""
        return _json({"batch": self.batch, "new": self.new})

    @classmethod
    def decode(cls, payload: bytes) -> Ack:
        """From bytes; raises ``Unruly``."""
        fields = _object(payload)
        return cls(_count(fields, "batch", least=1), _count(fields, "new"))


@dataclass(frozen=True, slots=True)
class End:
    """All batches of this side are across; ``held``: how many of the tablet's own entries this side holds."""

    batches: int
    held: int

    kind = Kind.END

    def encode(self) -> bytes:
        """As bytes."""
        return _json(asdict(self))

    @classmethod
    def decode(cls, payload: bytes) -> End:
        """From bytes; raises ``Unruly``."""
        fields = _object(payload)
        return cls(_count(fields, "batches"), _count(fields, "held"))


@dataclass(frozen=True, slots=True)
class Refusal:
    """This side ends the talk, and why."""

    code: Code

    kind = Kind.REFUSAL

    def encode(self) -> bytes:
        """As bytes."""
        return _json({"code": self.code.value})

    @classmethod
    def decode(cls, payload: bytes) -> Refusal:
        """From bytes; raises ``Unruly``. A code of a later version reads as ``busy``."""
        code = _object(payload).get("code")
        return cls(Code(code) if code in set(Code) else Code.BUSY)


Message = Hello | Welcome | Account | Batch | Ack | End | Refusal
_MESSAGES: dict[Kind, type[Message]] = {
    each.kind: each for each in (Hello, Welcome, Account, Batch, Ack, End, Refusal)
}


def decode(kind: Kind, payload: bytes) -> Message:
    """The message of a frame; raises ``Unruly`` or ``Damaged``."""
    return _MESSAGES[kind].decode(payload)


def _json(value: object) -> bytes:
    return _ENCODER.encode(value).encode("ascii")


def _object(payload: bytes) -> dict[str, Any]:
    try:
        value = json.loads(payload)
    except (ValueError, RecursionError):
        raise unruly("a message cannot be read") from None
    if not isinstance(value, dict):
        raise unruly("a message is not an object")
    return value


def _id(fields: Mapping[str, Any], name: str) -> str:
    value = fields.get(name)
    if not isinstance(value, str) or not _ID.match(value):
        raise unruly("an id is missing")
    return value


def _count(fields: Mapping[str, Any], name: str, *, least: int = 0) -> int:
    return _number(fields.get(name), least)


def _number(value: object, least: int) -> int:
    if type(value) is not int or not least <= value <= MOST_ENTRIES:
        raise unruly("a number is missing or out of bounds")
    return value


def _spans(told: object) -> tuple[Span, ...]:
    if not isinstance(told, list):
        raise unruly("an account cannot be read")
    spans: list[Span] = []
    for each in told:
        if not isinstance(each, list) or len(each) != 3:
            raise unruly("an account cannot be read")
        first, last, digest = each
        if not isinstance(digest, str) or not _DIGEST.match(digest):
            raise unruly("an account has no digest")
        first = _number(first, spans[-1].last + 1 if spans else 1)
        spans.append(Span(first, _number(last, first), bytes.fromhex(digest)))
    return tuple(spans)
