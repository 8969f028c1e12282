"""The visit's certificates, checked by another implementation: the ``openssl`` command with RFC 5280's strict rules."""

from __future__ import annotations

import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from hashlib import sha256

import pytest
from cryptography import x509
from cryptography.hazmat.primitives.serialization import Encoding

from shared.errors import Damaged
from sync.nearby.authority import EPOCH, Authority, Holder, Role, holder_of
from sync.nearby.phrase import WORDS, check_phrase

NOW = datetime(2026, 10, 14, 13, 0, tzinfo=UTC)


def pem(certificate: bytes) -> bytes:
    return x509.load_der_x509_certificate(certificate).public_bytes(Encoding.PEM)


def openssl_says(folder, authority: bytes, certificate: bytes, purpose: str, at: datetime = NOW) -> str:
    (folder / "ca.pem").write_bytes(pem(authority))
    (folder / "one.pem").write_bytes(pem(certificate))
    asked = ["-x509_strict", "-purpose", purpose, "-attime", str(int(at.timestamp()))]
    done = subprocess.run(
        ["openssl", "verify", *asked, "-CAfile", "ca.pem", "one.pem"],
        cwd=folder,
        capture_output=True,
        text=True,
    )
    return "OK" if done.returncode == 0 else done.stderr


@pytest.mark.skipif(shutil.which("openssl") is None, reason="needs the openssl command")
class TestByOpenssl:
    def test_each_role_for_its_purpose_only(self, tmp_path):
        authority = Authority.make("visit1", NOW)
        for role, right, wrong in (
            (Role.LEAD, "sslserver", "sslclient"),
            (Role.TABLET, "sslclient", "sslserver"),
        ):
            certificate = authority.issue(role, "device1", NOW).certificate
            assert openssl_says(tmp_path, authority.certificate, certificate, right) == "OK"
            assert "purpose" in openssl_says(tmp_path, authority.certificate, certificate, wrong)

    def test_another_authority_of_the_same_name_is_not_believed(self, tmp_path):
        certificate = Authority.make("visit1", NOW).issue(Role.TABLET, "device1", NOW).certificate
        other = Authority.make("visit1", NOW)
        assert "error" in openssl_says(tmp_path, other.certificate, certificate, "sslclient")

    @pytest.mark.parametrize(
        ("clock", "believed"),
        [
            (EPOCH + timedelta(days=1), True),  # fallen back to its beginning
            (NOW - timedelta(days=3000), True),
            (NOW + timedelta(days=3 * 365 - 1), True),
            (NOW + timedelta(days=3 * 365 + 1), False),
        ],
    )
    def test_a_wrong_clock_keeps_a_tablet_out_only_years_ahead(self, tmp_path, clock, believed):
        authority = Authority.make("visit1", NOW)
        certificate = authority.issue(Role.LEAD, "book", NOW).certificate
        told = openssl_says(tmp_path, authority.certificate, certificate, "sslserver", clock)
        assert (told == "OK") is believed and (believed or "expired" in told)

    def test_a_lead_whose_clock_fell_back_issues_what_still_holds(self, tmp_path):
        authority = Authority.make("visit1", NOW)
        certificate = authority.issue(Role.TABLET, "device1", EPOCH + timedelta(days=2)).certificate
        assert openssl_says(tmp_path, authority.certificate, certificate, "sslclient") == "OK"


def test_a_book_prepared_while_the_clock_had_fallen_back_can_still_listen():
    authority = Authority.make("visit1", EPOCH + timedelta(days=1))
    certificate = authority.issue(Role.LEAD, "book1", NOW).certificate
    assert x509.load_der_x509_certificate(certificate).not_valid_after_utc > NOW + timedelta(days=365)


def test_a_certificate_names_its_holder_and_nothing_else():
    authority = Authority.make("visit1", NOW)
    certificate = authority.issue(Role.TABLET, "device1", NOW).certificate
    assert holder_of(certificate) == Holder("visit1", Role.TABLET, "device1")
    subject = x509.load_der_x509_certificate(certificate).subject
    assert {attribute.value for attribute in subject} == {"visit1", "tablet", "device1"}


@pytest.mark.parametrize("data", [b"", b"0", bytes(200), b"\x30\x82\xff\xff" + bytes(40)])
def test_what_is_no_certificate_is_damaged(data):
    with pytest.raises(Damaged):
        holder_of(data)


@pytest.mark.parametrize(
    ("true", "false"),
    [
        (b"\xa0\x03\x02\x01\x02", b"\xa0\x03\x02\x01\x0a"),  # version 11
        (b"\x0c\x06visit1", b"\x03\x06visit1"),  # a name made of bits
    ],
)
def test_what_fuzzing_found_is_damaged(true, false):
    """What the library refuses with errors of its own."""
    certificate = Authority.make("visit1", NOW).certificate
    assert true in certificate
    with pytest.raises(Damaged):
        holder_of(certificate.replace(true, false))


def test_the_check_phrase_is_the_front_of_the_digest():
    """Against the definition in NEARBY.md, bit by bit."""
    for data in (b"", b"a certificate", bytes(1000)):
        bits = "".join(f"{byte:08b}" for byte in sha256(data).digest())
        words = [WORDS[int(bits[place : place + 7], 2)] for place in (0, 7, 14)]
        assert check_phrase(data) == "-".join(words)
    assert len(set(WORDS)) == 128 and all(word.isascii() and word.islower() for word in WORDS)
