"""Self-test: known answers that the primitives must give before the vault trusts them. Once a process, about
5 ms, most of it Argon2id over 32 KiB.

All values are the RFCs' own. ``tests/vault/test_selftest.py`` checks that a primitive gone wrong is noticed.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from cryptography.exceptions import InvalidTag, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite
from cryptography.hazmat.primitives.kdf.argon2 import Argon2id
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

from shared.errors import Refused

_hex = bytes.fromhex


def rfc_8439() -> bool:
    """ChaCha20-Poly1305, RFC 8439 section 2.8.2; and a changed tag is refused."""
    key = bytes(range(0x80, 0xA0))
    nonce = _hex("070000004041424344454647")
    aad = _hex("50515253c0c1c2c3c4c5c6c7")
    text = (
        b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the future, "
        b"sunscreen would be it."
    )
    sealed = _hex(
        "d31a8d34648e60db7b86afbc53ef7ec2a4aded51296e08fea9e2b5a736ee62d63dbea45e8ca9671282fafb69da92728b"
        "1a71de0a9e060b2905d6a5b67ecd3b3692ddbd7f2d778b8c9803aee328091b58fab324e4fad675945585808b4831d7bc"
        "3ff4def08e4b7a9de576d26586cec64b61161ae10b594f09e26a7e902ecbd0600691"
    )
    cipher = ChaCha20Poly1305(key)
    if cipher.encrypt(nonce, text, aad) != sealed or cipher.decrypt(nonce, sealed, aad) != text:
        return False
    try:
        cipher.decrypt(nonce, sealed[:-1] + bytes([sealed[-1] ^ 1]), aad)
    except InvalidTag:
        return True
    return False


def rfc_9106() -> bool:
    """Argon2id, RFC 9106 section 5.3; where the platform has it."""
    try:
        derived = Argon2id(
            salt=b"\x02" * 16,
            length=32,
            iterations=3,
            lanes=4,
            memory_cost=32,
            secret=b"\x03" * 8,
            ad=b"\x04" * 12,
        ).derive(b"\x01" * 32)
    except UnsupportedAlgorithm:
        return True
    return derived == _hex("0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659")


def rfc_7914() -> bool:
    """scrypt, RFC 7914 section 12, first vector."""
    return Scrypt(salt=b"", length=64, n=16, r=1, p=1).derive(b"") == _hex(
        "77d6576238657b203b19ca42c18a0497f16b4844e3074ae8dfdffa3fede21442"
        "fcd0069ded0948f8326a753a0fc81f17e8d3e0fb2e0d3628cf35e20c38d18906"
    )


def rfc_9180() -> bool:
    """HPKE, RFC 9180 appendix A.2.1 (X25519, HKDF-SHA256, ChaCha20-Poly1305, base mode).

    The library seals without associated data, the RFC's ciphertexts have some: so the RFC's own key and nonce
    seal its plaintext without, and the library must open that from the RFC's private key.
    """
    private = X25519PrivateKey.from_private_bytes(
        _hex("8057991eef8f1f1af18f4a9491d16a1ce333f695d4db8e38da75975c4478e0fb")
    )
    enc = _hex("1afa08d3dec047a643885163f1180476fa7ddb54c6a8029ea33f95796bf2ac4a")
    key = _hex("ad2744de8e17f4ebba575b3f5f5a8fa1f69c2a07f6e7500bc60ca6e3e3ec1c91")
    nonce = _hex("5c4d98150661b848853b547f")
    text = b"Beauty is truth, truth beauty"
    sealed = enc + ChaCha20Poly1305(key).encrypt(nonce, text, b"")
    suite = Suite(KEM.X25519, KDF.HKDF_SHA256, AEAD.CHACHA20_POLY1305)
    return suite.decrypt(sealed, private, info=b"Ode on a Grecian Urn") == text


def rfc_8032() -> bool:
    """Ed25519, RFC 8032 section 7.1, test 2."""
    private = Ed25519PrivateKey.from_private_bytes(
        _hex("4ccd089b28ff96da9db6c346ec114e0f5b8a319f35aba624da8cf6ed4fb8a6fb")
    )
    return private.sign(b"\x72") == _hex(
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da"
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00"
    )


KNOWN_ANSWERS: dict[str, Callable[[], bool]] = {
    "ChaCha20-Poly1305 (RFC 8439)": rfc_8439,
    "Argon2id (RFC 9106)": rfc_9106,
    "scrypt (RFC 7914)": rfc_7914,
    "HPKE (RFC 9180)": rfc_9180,
    "Ed25519 (RFC 8032)": rfc_8032,
}


@cache
def run_once() -> None:
    """Run all known-answer tests; raises ``Refused`` where a primitive computes something else."""
    for name, gives_the_known_answer in KNOWN_ANSWERS.items():
        try:
            good = gives_the_known_answer()
        except Exception:  # whatever a broken library does, it is broken
            good = False
        if not good:
            raise Refused(
                f"This device computes {name} wrongly: encryption on it cannot be trusted.",
                kept="Nothing was opened or changed.",
                todo="Install Quietbell again, or use another device.",
            )
