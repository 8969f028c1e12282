"""The sealed file that handouts and returns share: sealed to its receiver, signed by its maker.

Its bytes are specified in ``FORMAT.md`` beside this file. Sealing is HPKE (RFC 9180: X25519, HKDF-SHA256,
ChaCha20-Poly1305), signing is Ed25519 (RFC 8032), both from the ``cryptography`` package. What a handout or a
return says is not known here; the body is one JSON object a line.
"""

from __future__ import annotations

import json
import math
import struct
import zlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

from cryptography.exceptions import InvalidSignature, InvalidTag
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite

from shared.errors import Damaged, ForeignFile, NewerVersion

MAGIC = b"QBSEALED"
VERSION = 1
MAX_HEADER = 64 * 1024
MAX_FILE = 512 * 1024 * 1024
MAX_BODY = 1024 * 1024 * 1024
_UNPACKED_AT_ONCE = 16 * 1024  # bytes of the packed body
_DEEPEST = 32  # lists and objects inside one another in one line
_ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)
_PRELUDE = struct.Struct(">8sBBIQ")
_SIGNATURE_LENGTH = 64
_SUITE = Suite(KEM.X25519, KDF.HKDF_SHA256, AEAD.CHACHA20_POLY1305)


class FileKind(IntEnum):
    """What a sealed file is."""

    HANDOUT = 1
    RETURN = 2
    NEWS = 3  # from the lead to a tablet over the local network, never a file of its own

    @property
    def word(self) -> str:
        """The word for the person at the screen."""
        return self.name.lower()


@dataclass(frozen=True, slots=True)
class SealedFile:
    """A sealed file taken apart, its seal and signature not yet checked."""

    kind: FileKind
    header: Mapping[str, Any]
    _bound: bytes
    _sealed: bytes
    _signature: bytes

    def check_signature(self, maker: bytes) -> None:
        """Raise ``Damaged`` unless the holder of the Ed25519 key ``maker`` (public, 32 bytes) signed it."""
        try:
            key = Ed25519PublicKey.from_public_bytes(maker)
            key.verify(self._signature, self._bound + self._sealed)
        except (InvalidSignature, ValueError):
            raise _altered(self.kind) from None

    def unseal(self, receiver: X25519PrivateKey, largest: int = MAX_BODY) -> Iterator[dict[str, Any]]:
        """The body's objects, at least one; raises ``Damaged`` where it was not sealed to ``receiver``, was altered,
        or would be larger than ``largest`` bytes once unpacked; on the way, where a line is no object."""
        try:
            packed = _SUITE.decrypt(self._sealed, receiver, info=self._bound)
        except (InvalidTag, ValueError):
            raise _altered(self.kind) from None
        return self._objects(packed, largest)

    def _objects(self, packed: bytes, largest: int) -> Iterator[dict[str, Any]]:
        """One by one, so that what a reader does not keep of a line is gone before the next is read."""
        try:
            for block in _blocks(packed, largest):
                for line in block.decode().split("\n"):
                    value = _read(line)
                    if not isinstance(value, dict):
                        raise ValueError
                    yield value
        except (ValueError, RecursionError, zlib.error):
            raise _altered(self.kind) from None


def _blocks(packed: bytes, largest: int) -> Iterator[bytes]:
    """The body, unpacked a little at a time: whole lines, without the line break after the last of them.

    Raises ``ValueError`` or ``zlib.error`` where it does not unpack to at most ``largest`` bytes.
    """
    unpack = zlib.decompressobj()
    left = largest
    begun: list[bytes] = []  # a line whose end has not come yet
    for start in range(0, len(packed), _UNPACKED_AT_ONCE):
        piece = unpack.decompress(packed[start : start + _UNPACKED_AT_ONCE], left + 1)
        left -= len(piece)
        if left < 0 or unpack.unused_data:
            raise ValueError
        lines, line_break, rest = piece.rpartition(b"\n")
        if line_break:
            yield b"".join((*begun, lines))
            begun.clear()
        begun.append(rest)
    if not unpack.eof:
        raise ValueError
    yield b"".join(begun)


def seal(
    kind: FileKind,
    header: Mapping[str, Any],
    body: Iterable[Mapping[str, Any]],
    *,
    receiver: bytes,
    maker: Ed25519PrivateKey,
) -> bytes:
    """The bytes of a sealed file. ``receiver`` is an X25519 public key (32 bytes); the header stays readable."""
    head = _json(header)
    packed = zlib.compress(b"\n".join(map(_json, body)), 6)
    # HPKE adds its encapsulated key (32 bytes) and the tag (16 bytes), so the length is known beforehand
    # and can be bound together with the header.
    bound = _PRELUDE.pack(MAGIC, VERSION, kind, len(head), len(packed) + 48) + head
    sealed = _SUITE.encrypt(packed, X25519PublicKey.from_public_bytes(receiver), info=bound)
    return bound + sealed + maker.sign(bound + sealed)


def take_apart(data: bytes, expected: FileKind) -> SealedFile:
    """Read the outside of a sealed file.

    Raises ``ForeignFile`` (not a sealed file, or one of the other kind), ``NewerVersion``, or ``Damaged``
    (cut short, longer than it says, or its header unreadable).
    """
    if data[: len(MAGIC)] != MAGIC:
        raise ForeignFile(
            f"This file is not a Quietbell {expected.word}.",
            kept="Nothing was changed.",
            todo=f"Choose the {expected.word} file.",
        )
    if len(data) < _PRELUDE.size:
        raise _cut_short(expected)
    _, version, kind_number, head_length, sealed_length = _PRELUDE.unpack_from(data)
    if version != VERSION:
        raise NewerVersion(
            f"This {expected.word} was made by a newer Quietbell.",
            kept="Nothing was changed.",
            todo="Update Quietbell on this device, then try again.",
        )
    if kind_number not in set(FileKind):
        raise _altered(expected)
    kind = FileKind(kind_number)
    if kind is not expected:
        raise ForeignFile(
            f"This file is a {kind.word}, not a {expected.word}.",
            kept="Nothing was changed.",
            todo="A handout goes to a tablet, a return goes to the visit book.",
        )
    if head_length > MAX_HEADER or sealed_length > MAX_FILE:
        raise _altered(kind)
    end = _PRELUDE.size + head_length + sealed_length
    if len(data) < end + _SIGNATURE_LENGTH:
        raise _cut_short(kind)
    if len(data) > end + _SIGNATURE_LENGTH:
        raise _altered(kind)
    bound = data[: _PRELUDE.size + head_length]
    try:
        header = _read(bound[_PRELUDE.size :].decode())
    except (ValueError, RecursionError):
        raise _altered(kind) from None
    if not isinstance(header, dict):
        raise _altered(kind)
    return SealedFile(kind, header, bound, data[len(bound) : end], data[end:])


def _json(value: Mapping[str, Any]) -> bytes:
    return _ENCODER.encode(value).encode()


def _finite(digits: str) -> float:
    number = float(digits)
    if not math.isfinite(number):
        raise ValueError
    return number


def _no_constant(name: str) -> float:
    raise ValueError(name)


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):  # two readers could take two different values
        raise ValueError
    return found


_DECODER = json.JSONDecoder(parse_float=_finite, parse_constant=_no_constant, object_pairs_hook=_once)


def _read(line: str) -> Any:
    """One line; raises ``ValueError`` for what could be read here but not written, stored or compared later:
    NaN and infinities, halves of surrogate pairs, nesting without end; or read in two ways: a name given twice."""
    value = _DECODER.decode(line)
    if "\\u" in line:
        _json(value)
    if line.count("[") + line.count("{") > _DEEPEST:
        _check_depth(value)
    return value


def _check_depth(value: Any) -> None:
    level = [value]
    for _ in range(_DEEPEST):
        inner = (each.values() if isinstance(each, dict) else each for each in level)
        level = [item for items in inner for item in items if isinstance(item, dict | list)]
        if not level:
            return
    raise ValueError


def _altered(kind: FileKind) -> Damaged:
    return Damaged(
        f"This {kind.word} was altered or damaged on its way, or was not made for this device.",
        kept="Nothing was taken from it and nothing was changed.",
        todo="Make the file again and bring it over once more.",
    )


def _cut_short(kind: FileKind) -> Damaged:
    return Damaged(
        f"This {kind.word} is cut short: the copy was not finished.",
        kept="Nothing was taken from it and nothing was changed.",
        todo="Copy the file again from the start.",
    )
