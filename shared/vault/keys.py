"""Keys: a secret under a passphrase, a secret sealed to the lead's public key, a key for each purpose.

Only key handling lives here, no files. The byte forms are written down in ``FORMAT.md`` (sections 3 and 4);
handouts and returns use the same two slots.
"""

from __future__ import annotations

import hmac
import json
import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from typing import Any

from cryptography.exceptions import InvalidTag, UnsupportedAlgorithm
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from shared.errors import Damaged, WrongPassphrase

Random = Callable[[int], bytes]
Slot = dict[str, Any]

KEY_BYTES = 32
SALT_BYTES = 16
NONCE_BYTES = 12

# A header is read before anything in it can be trusted: these caps keep a hostile one from eating the
# tablet's memory or its afternoon.
MOST_MEMORY_KIB = 256 * 1024
MOST_PASSES = 16
MOST_LANES = 16
LONGEST_PASSPHRASE = 1024

_SUITE = Suite(KEM.X25519, KDF.HKDF_SHA256, AEAD.CHACHA20_POLY1305)


@dataclass(frozen=True, slots=True)
class Cost:
    """How dear one guess at a passphrase is.

    ``memory_kib`` kibibytes are filled ``passes`` times by ``lanes`` lanes (Argon2id, RFC 9106). For scrypt
    (RFC 7914) with block size r = 8 one unit of N takes exactly 1 KiB, so N is ``memory_kib`` (a power of
    two) and p is ``passes``; ``lanes`` is 1.
    """

    kdf: str = "argon2id"
    memory_kib: int = 64 * 1024
    passes: int = 3
    lanes: int = 4

    def __post_init__(self) -> None:
        numbers = (self.memory_kib, self.passes, self.lanes)
        if any(type(number) is not int or number < 1 for number in numbers):
            raise ValueError("a cost is made of whole numbers from 1")
        if self.memory_kib > MOST_MEMORY_KIB or self.passes > MOST_PASSES or self.lanes > MOST_LANES:
            raise ValueError("the cost is above the caps")
        if self.kdf == "argon2id":
            if self.memory_kib < 8 * self.lanes:
                raise ValueError("Argon2id needs at least 8 KiB a lane")
        elif self.kdf == "scrypt":
            if self.memory_kib < 2 or self.memory_kib & (self.memory_kib - 1) or self.lanes != 1:
                raise ValueError("scrypt needs a power of two above 1 and one lane")
        else:
            raise ValueError("the key derivation is unknown")

    def derive(self, passphrase: str, salt: bytes) -> bytes:
        """The 32-byte key that this passphrase and salt give."""
        material = normal_form(passphrase).encode("utf-8", "surrogatepass")
        if self.kdf == "argon2id":
            return Argon2id(
                salt=salt,
                length=KEY_BYTES,
                iterations=self.passes,
                lanes=self.lanes,
                memory_cost=self.memory_kib,
            ).derive(material)
        return Scrypt(salt=salt, length=KEY_BYTES, n=self.memory_kib, r=8, p=self.passes).derive(material)

    def to_dict(self) -> dict[str, str | int]:
        """The cost as it stands in a slot."""
        return {"kdf": self.kdf, "memory_kib": self.memory_kib, "passes": self.passes, "lanes": self.lanes}


# RFC 9106, section 4, second recommended option (64 MiB), for memory-constrained machines.
ARGON2ID = Cost()
# The same memory where the platform's OpenSSL has no Argon2id.
SCRYPT = Cost("scrypt", memory_kib=64 * 1024, passes=1, lanes=1)
# For tests only: nothing here withstands a guess.
CHEAP = Cost(memory_kib=32, passes=1, lanes=4)


@cache
def usual_cost() -> Cost:
    """Argon2id where the platform has it, else scrypt."""
    try:
        CHEAP.derive("", bytes(SALT_BYTES))
    except UnsupportedAlgorithm:
        return SCRYPT
    return ARGON2ID


def normal_form(passphrase: str) -> str:
    """One form for what looks the same on every keyboard.

    Every kind of space becomes a space, then Unicode NFC (RFC 8265, section 4.2.2).
    """
    spaced = "".join(" " if unicodedata.category(sign) == "Zs" else sign for sign in passphrase)
    return unicodedata.normalize("NFC", spaced)


def derived(secret: bytes, purpose: str, *, salt: bytes = b"") -> bytes:
    """A 32-byte key for one purpose only (HKDF-SHA256, RFC 5869)."""
    info = f"quietbell {purpose}".encode()
    return HKDF(algorithm=hashes.SHA256(), length=KEY_BYTES, salt=salt, info=info).derive(secret)


# -- a slot under a passphrase ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PassphraseKey:
    """The key a passphrase gave, with the salt and cost it came from; wraps again without asking again."""

    cost: Cost
    salt: bytes
    key: bytes

    @classmethod
    def make(cls, passphrase: str, cost: Cost, random: Random) -> PassphraseKey:
        """A key under a fresh salt."""
        salt = random(SALT_BYTES)
        return cls(cost, salt, cost.derive(passphrase, salt))

    def wrap(self, secret: bytes, random: Random, *, context: bytes = b"") -> Slot:
        """The slot that holds the secret; opens only with the same ``context``."""
        slot: Slot = {"type": "passphrase", **self.cost.to_dict(), "salt": self.salt.hex()}
        nonce = random(NONCE_BYTES)
        sealed = ChaCha20Poly1305(self.key).encrypt(nonce, secret, _bound(slot, context))
        return {**slot, "nonce": nonce.hex(), "sealed": sealed.hex()}

    def unwrap(self, slot: Mapping[str, Any], *, context: bytes = b"") -> bytes:
        """The secret; raises ``WrongPassphrase`` where this key is not the one."""
        nonce = _field(slot, "nonce", NONCE_BYTES)
        sealed = _field(slot, "sealed")
        try:
            return ChaCha20Poly1305(self.key).decrypt(nonce, sealed, _bound(slot, context))
        except InvalidTag:
            raise wrong_passphrase() from None


def passphrase_key(slot: Mapping[str, Any], passphrase: str) -> PassphraseKey:
    """The key for an existing slot; raises ``Damaged`` where its settings are off or above the caps."""
    if len(passphrase) > LONGEST_PASSPHRASE:
        raise wrong_passphrase()
    try:
        cost = Cost(slot["kdf"], slot["memory_kib"], slot["passes"], slot["lanes"])
    except (KeyError, ValueError):
        raise Damaged(
            "The key settings of this file make no sense or ask for too much memory.",
            todo="Use another copy of the file.",
        ) from None
    salt = _field(slot, "salt", SALT_BYTES)
    return PassphraseKey(cost, salt, cost.derive(passphrase, salt))


def wrap_with_passphrase(
    secret: bytes, passphrase: str, cost: Cost | None, random: Random, *, context: bytes = b""
) -> Slot:
    """A JSON-ready slot holding ``secret`` under a passphrase; ``context`` binds it to where it stands."""
    return PassphraseKey.make(passphrase, cost or usual_cost(), random).wrap(secret, random, context=context)


def unwrap(slot: Mapping[str, Any], passphrase: str, *, context: bytes = b"") -> bytes:
    """The secret in a passphrase slot; raises ``WrongPassphrase``, or ``Damaged`` for a senseless slot."""
    return passphrase_key(slot, passphrase).unwrap(slot, context=context)


def wrong_passphrase() -> WrongPassphrase:
    """The one message for a passphrase that does not open a file."""
    return WrongPassphrase(
        "This passphrase does not open the file.",
        kept="Nothing was changed.",
        todo="Check capital letters and the keyboard language, then try again.",
    )


# -- a slot sealed to the lead ---------------------------------------------------------------------------


def wrap_for_lead(secret: bytes, public_key: bytes, *, context: bytes = b"") -> Slot:
    """A JSON-ready slot that only the holder of the X25519 private key opens (HPKE base mode, RFC 9180)."""
    public = X25519PublicKey.from_public_bytes(public_key)
    sealed = _SUITE.encrypt(secret, public, info=_lead_info(context))
    return {"type": "lead", "public_key": public_key.hex(), "sealed": sealed.hex()}


def unwrap_with_lead_key(slot: Mapping[str, Any], private_key: bytes, *, context: bytes = b"") -> bytes:
    """The secret in a lead's slot; raises ``WrongPassphrase`` where it was sealed to another key."""
    try:
        private = X25519PrivateKey.from_private_bytes(private_key)
        return _SUITE.decrypt(_field(slot, "sealed"), private, info=_lead_info(context))
    except (InvalidTag, ValueError):
        raise WrongPassphrase(
            "The lead's key does not open the file.",
            kept="Nothing was changed.",
            todo="Use the visit book that prepared this tablet.",
        ) from None


def _lead_info(context: bytes) -> bytes:
    return b"quietbell lead slot 1\0" + context


def lead_key_pair(random: Random) -> tuple[bytes, bytes]:
    """A fresh (private, public) pair of 32 bytes each for the lead."""
    private = X25519PrivateKey.from_private_bytes(random(KEY_BYTES))
    return private.private_bytes_raw(), private.public_key().public_bytes_raw()


# -- small parts -----------------------------------------------------------------------------------------


def _bound(slot: Mapping[str, Any], context: bytes) -> bytes:
    """What a passphrase slot's seal covers beside the secret: its own settings and where it stands."""
    settings = {name: slot.get(name) for name in ("type", "kdf", "memory_kib", "passes", "lanes", "salt")}
    return b"quietbell passphrase slot 1\0" + canonical(settings) + b"\0" + context


def canonical(value: object) -> bytes:
    """The one byte form of a JSON value: sorted keys, no spaces, ASCII."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False).encode("ascii")


def checksum(data: bytes) -> bytes:
    """SHA-256: tells damage, not forgery."""
    return sha256(data).digest()


def mac(key: bytes, data: bytes) -> bytes:
    """HMAC-SHA256 (RFC 2104): tells forgery too."""
    return hmac.new(key, data, sha256).digest()


def _field(slot: Mapping[str, Any], name: str, length: int | None = None) -> bytes:
    try:
        data = bytes.fromhex(slot[name])
    except (KeyError, TypeError, ValueError):
        data = b""
    if not data or (length is not None and len(data) != length):
        raise Damaged("A key slot of this file cannot be read.", todo="Use another copy of the file.")
    return data
