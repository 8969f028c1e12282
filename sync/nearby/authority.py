"""The visit's own authority and the certificates it issues. No sockets and no stores here.

One authority a visit, made when the book is prepared; its key never leaves the book. It signs one certificate a
handout, and one for the lead each time the lead listens. Keys are Ed25519 (RFC 8410), certificates X.509 version 3
(RFC 5280). Nothing in a certificate says who or where: a visit and its devices are random ids.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from shared.errors import Damaged

# A tablet whose clock has fallen back to its beginning must still be let in, so validity begins where clocks do.
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# And a book that is prepared while the clock has fallen back must not make an authority that ran out long ago.
EARLIEST_NOW = datetime(2026, 1, 1, tzinfo=UTC)
AUTHORITY_LASTS = timedelta(days=20 * 365)
CERTIFICATE_LASTS = timedelta(days=3 * 365)


class Role(StrEnum):
    """Who holds a certificate: the lead answers, a tablet calls; none can pass for another."""

    LEAD = "lead"
    TABLET = "tablet"
    AUTHORITY = "authority"


_USE = {Role.LEAD: ExtendedKeyUsageOID.SERVER_AUTH, Role.TABLET: ExtendedKeyUsageOID.CLIENT_AUTH}


@dataclass(frozen=True, slots=True)
class Identity:
    """A certificate (DER) and the Ed25519 private key (32 bytes) that proves it."""

    certificate: bytes
    key: bytes


@dataclass(frozen=True, slots=True)
class Holder:
    """What a certificate says of its holder; ``id`` is a tablet's id, or the book's device."""

    visit: str
    role: Role
    id: str


@dataclass(frozen=True, slots=True)
class Authority:
    """The authority of one visit."""

    identity: Identity

    @classmethod
    def make(cls, visit: str, now: datetime) -> Authority:
        """A new authority; ``now`` is the lead's clock when the book is prepared."""
        key = Ed25519PrivateKey.generate()
        name = _name(visit, Role.AUTHORITY, visit)
        builder = (
            _draft(name, name, key.public_key(), max(now, EARLIEST_NOW) + AUTHORITY_LASTS)
            .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
            .add_extension(_usage(signs_certificates=True), critical=True)
        )
        certificate = builder.sign(key, None).public_bytes(Encoding.DER)
        return cls(Identity(certificate, key.private_bytes_raw()))

    @property
    def certificate(self) -> bytes:
        """The authority's certificate (DER), which both sides trust and nothing else."""
        return self.identity.certificate

    def issue(self, role: Role, holder: str, now: datetime) -> Identity:
        """A certificate for ``holder``, with a new key.

        It lasts three years from ``now`` or from the authority's beginning, whichever is later: a lead's clock
        that has fallen back must not issue what has run out already.
        """
        own = x509.load_der_x509_certificate(self.certificate)
        signer = Ed25519PrivateKey.from_private_bytes(self.identity.key)
        visit = _text(own.subject, NameOID.ORGANIZATION_NAME)
        made = own.not_valid_after_utc - AUTHORITY_LASTS
        until = min(max(now, made) + CERTIFICATE_LASTS, own.not_valid_after_utc)
        key = Ed25519PrivateKey.generate()
        builder = (
            _draft(_name(visit, role, holder), own.subject, key.public_key(), until)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(_usage(signs_certificates=False), critical=True)
            .add_extension(x509.ExtendedKeyUsage([_USE[role]]), critical=True)
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(signer.public_key()), critical=False
            )
        )
        certificate = builder.sign(signer, None).public_bytes(Encoding.DER)
        return Identity(certificate, key.private_bytes_raw())


def holder_of(certificate: bytes) -> Holder:
    """Whom a certificate (DER) names; raises ``Damaged`` where it is none of ours.

    That it is genuine is not checked here: TLS has done so before.
    """
    try:
        subject = x509.load_der_x509_certificate(certificate).subject
        role = Role(_text(subject, NameOID.ORGANIZATIONAL_UNIT_NAME))
        return Holder(_text(subject, NameOID.ORGANIZATION_NAME), role, _text(subject, NameOID.COMMON_NAME))
    except (ValueError, TypeError, IndexError, x509.InvalidVersion):
        raise Damaged(
            "The certificate of the other device cannot be read.",
            kept="Nothing was changed.",
            todo="Make a new handout for the tablet, or bring the return as a file.",
        ) from None


def _draft(
    subject: x509.Name, issuer: x509.Name, key: Ed25519PublicKey, until: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(EPOCH)
        .not_valid_after(until)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key), critical=False)
    )


def _name(visit: str, role: Role, holder: str) -> x509.Name:
    parts = (
        (NameOID.ORGANIZATION_NAME, visit),
        (NameOID.ORGANIZATIONAL_UNIT_NAME, role.value),
        (NameOID.COMMON_NAME, holder),
    )
    return x509.Name([x509.NameAttribute(oid, text) for oid, text in parts])


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _text(name: x509.Name, oid: x509.ObjectIdentifier) -> str:
    value = name.get_attributes_for_oid(oid)[0].value
    if not isinstance(value, str):
        raise ValueError
    return value
