"""A second reader of stores, written from ``shared/vault/FORMAT.md`` alone: tiny, slow, obviously right.

It imports nothing of the project. The tests hold the real reader against it. HPKE is built here from its parts
(RFC 9180, sections 4.1 and 5.1), since the real reader uses a library's.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import unicodedata
import zlib
from typing import Any

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id

Tables = dict[str, dict[str, Any]]
MAGIC = b"QUIETBELL-STORE\n"


class Outcome(Exception):
    """Why a store does not open: foreign, newer, damaged, wrong-key."""


def hkdf(secret: bytes, salt: bytes, info: bytes, length: int = 32) -> bytes:
    """RFC 5869."""
    return expand(hmac.digest(salt or bytes(32), secret, "sha256"), info, length)


def expand(prk: bytes, info: bytes, length: int) -> bytes:
    out, block, counter = b"", b"", 1
    while len(out) < length:
        block = hmac.digest(prk, block + info + bytes([counter]), "sha256")
        out, counter = out + block, counter + 1
    return out[:length]


def hpke_open(sealed: bytes, private: bytes, info: bytes) -> bytes:
    """RFC 9180, base mode, single shot: KEM 0x0020, KDF 0x0001, AEAD 0x0003."""
    kem, suite = b"KEM\x00\x20", b"HPKE\x00\x20\x00\x01\x00\x03"

    def extract(suite_id: bytes, salt: bytes, label: bytes, ikm: bytes) -> bytes:
        return hmac.digest(salt or bytes(32), b"HPKE-v1" + suite_id + label + ikm, "sha256")

    def labeled(suite_id: bytes, prk: bytes, label: bytes, more: bytes, length: int) -> bytes:
        return expand(prk, length.to_bytes(2, "big") + b"HPKE-v1" + suite_id + label + more, length)

    enc, ciphertext = sealed[:32], sealed[32:]
    key = X25519PrivateKey.from_private_bytes(private)
    dh = key.exchange(X25519PublicKey.from_public_bytes(enc))
    eae = extract(kem, b"", b"eae_prk", dh)
    shared = labeled(kem, eae, b"shared_secret", enc + key.public_key().public_bytes_raw(), 32)
    context = b"\0" + extract(suite, b"", b"psk_id_hash", b"") + extract(suite, b"", b"info_hash", info)
    secret = extract(suite, shared, b"secret", b"")
    nonce = labeled(suite, secret, b"base_nonce", context, 12)
    return ChaCha20Poly1305(labeled(suite, secret, b"key", context, 32)).decrypt(nonce, ciphertext, b"")


def ascii_json(value: Any) -> bytes:
    return json.dumps(value, sort_keys=True, separators=(",", ":")).encode("ascii")


# -- sections 2 and 3 ------------------------------------------------------------------------------------


def whole_copy(block: bytes) -> tuple[dict[str, Any], bytes, bytes] | None:
    """The text, the sealed bytes and the seal of a whole copy."""
    if len(block) != 4096 or block[:18] != b"QUIETBELL-STORE\n\0\1":
        return None
    n = int.from_bytes(block[18:20], "big")
    if n > 4012 or block[52 + n : 84 + n] != hashlib.sha256(block[: 52 + n]).digest() or any(block[84 + n :]):
        return None
    return json.loads(block[20 : 20 + n]), block[: 20 + n], block[20 + n : 52 + n]


def header_of(data: bytes) -> tuple[dict[str, Any], bytes, bytes]:
    blocks = [data[:4096], data[4096:8192]]
    copies = [copy for block in blocks if (copy := whole_copy(block)) is not None]
    if copies:
        return max(copies, key=lambda copy: copy[0]["turn"])
    ours = [block for block in blocks if block[:16] == MAGIC]
    if not ours:
        starts = [block[:16] for block in blocks if len(block) >= 16]
        near = any(sum(a != b for a, b in zip(start, MAGIC, strict=True)) <= 2 for start in starts)
        raise Outcome("damaged" if near else "foreign")
    newer = all(int.from_bytes(block[16:18], "big") > 1 for block in ours)
    raise Outcome("newer" if newer else "damaged")


def store_key_of(text: dict[str, Any], passphrase: str | None, lead_key: bytes | None) -> bytes:
    context = bytes.fromhex(text["store"]) + text["kind"].encode()
    slots = {slot["type"]: slot for slot in text["slots"]}
    try:
        if passphrase is None:
            assert lead_key is not None
            info = b"quietbell lead slot 1\0" + context
            return hpke_open(bytes.fromhex(slots["lead"]["sealed"]), lead_key, info)
        slot = slots["passphrase"]
        settings = {name: slot[name] for name in ("type", "kdf", "memory_kib", "passes", "lanes", "salt")}
        key = passphrase_key(slot, passphrase)
        aad = b"quietbell passphrase slot 1\0" + ascii_json(settings) + b"\0" + context
        sealed = bytes.fromhex(slot["sealed"])
        return ChaCha20Poly1305(key).decrypt(bytes.fromhex(slot["nonce"]), sealed, aad)
    except (InvalidTag, KeyError):
        raise Outcome("wrong-key") from None


def passphrase_key(slot: dict[str, Any], passphrase: str) -> bytes:
    numbers = memory, passes, lanes = slot["memory_kib"], slot["passes"], slot["lanes"]
    whole = all(type(number) is int and number >= 1 for number in numbers)
    if not whole or memory > 262144 or passes > 16 or lanes > 16:
        raise Outcome("damaged")
    spaced = "".join(" " if unicodedata.category(sign) == "Zs" else sign for sign in passphrase)
    material, salt = unicodedata.normalize("NFC", spaced).encode(), bytes.fromhex(slot["salt"])
    if slot["kdf"] == "argon2id" and memory >= 8 * lanes:
        derive = Argon2id(salt=salt, length=32, iterations=passes, lanes=lanes, memory_cost=memory)
        return derive.derive(material)
    if slot["kdf"] == "scrypt" and lanes == 1 and memory > 1 and bin(memory).count("1") == 1:
        return hashlib.scrypt(material, salt=salt, n=memory, r=8, p=passes, dklen=32, maxmem=2**29)
    raise Outcome("damaged")


# -- sections 5 and 7 ------------------------------------------------------------------------------------


def frame_at(data: bytes, at: int, key: bytes, place: bytes) -> tuple[int, int, bytes, bytes, int] | None:
    """Number, part, link, payload and end of the frame that opens at this place, whatever its number."""
    fields, end = data[at : at + 41], at + 45 + int.from_bytes(data[at : at + 4], "big")
    if len(data) < at + 45 or zlib.crc32(fields).to_bytes(4, "big") != data[at + 41 : at + 45]:
        return None
    if fields[12] > 1 or not 272 <= end - at - 45 <= 8 * 1024 * 1024 + 16 or end > len(data):
        return None
    try:
        payload = ChaCha20Poly1305(key).decrypt(fields[13:25], data[at + 45 : end], place + fields)
    except InvalidTag:
        return None
    return int.from_bytes(fields[4:12], "big"), fields[12], fields[25:41], payload, end


def read_store(
    data: bytes, *, passphrase: str | None = None, lead_key: bytes | None = None
) -> tuple[Tables, bool]:
    """The tables, and whether damage must be reported; raises ``Outcome``."""
    text, sealed, seal = header_of(data)
    store_key = store_key_of(text, passphrase, lead_key)
    if hmac.digest(hkdf(store_key, b"", b"quietbell header 1"), sealed, "sha256") != seal:
        raise Outcome("damaged")
    store, journal = bytes.fromhex(text["store"]), bytes.fromhex(text["journal"])
    key = hkdf(store_key, journal, b"quietbell frames 1")
    place = b"quietbell frame 1\0" + store + journal + text["kind"].encode() + b"\0"
    damaged = whole_copy(data[:4096]) is None or whole_copy(data[4096:8192]) is None

    tables: Tables = {}
    at, number, link, waiting = 8192, 1, bytes(16), []
    end = expected = at  # where the last finished transaction ended, and where the next frame should stand
    while at < len(data):
        frame = frame_at(data, at, key, place)
        if frame is None or frame[0] < number:
            at += 1
            continue
        follows = at == expected and frame[0] == number and frame[2] == link
        damaged = damaged or not follows
        number, link = frame[0] + 1, data[frame[4] - 16 : frame[4]]
        waiting.append(frame[3])
        at = expected = frame[4]
        if frame[1] == 0:
            for payload in waiting:
                apply(tables, payload)
            waiting, end = [], at
    return tables, damaged or not rest_is_torn(data, end, key, place)


def rest_is_torn(data: bytes, end: int, key: bytes, place: bytes) -> bool:
    """Whether what stands behind the last finished transaction is reserve or torn: nobody need be told."""
    at = end
    while at < len(data):
        if not any(data[at + 45 :]) or len(data) < at + 45:
            return True
        if zlib.crc32(data[at : at + 41]).to_bytes(4, "big") != data[at + 41 : at + 45]:
            return False
        frame_end = at + 45 + int.from_bytes(data[at : at + 4], "big")
        if frame_end > len(data) or not any(data[frame_end - 16 :]):
            return True
        if data[at + 12] != 1 or frame_at(data, at, key, place) is None:
            return False
        at = frame_end
    return True


def apply(tables: Tables, payload: bytes) -> None:
    try:
        for table, changes in json.loads(payload):
            if changes is None:
                tables.pop(table, None)
                continue
            documents = tables.setdefault(table, {})
            for doc_id, document in changes.items():
                if document is None:
                    documents.pop(doc_id, None)
                else:
                    documents[doc_id] = document
    except (ValueError, TypeError, AttributeError):
        raise Outcome("damaged") from None
