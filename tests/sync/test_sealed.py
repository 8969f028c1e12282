"""Sealed files: every cut and every flipped byte is refused, each in the documented words, and nothing leaks.

The primitives are RFC 9180 (HPKE) and RFC 8032 (Ed25519); their known answers are checked in ``tests/vault``.
"""

from __future__ import annotations

import os
import zlib
from datetime import UTC, datetime

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.errors import Damaged, ForeignFile, NewerVersion, QuietbellError
from shared.records.entries import Entry, Kind
from shared.vault import CHEAP
from sync import sealed
from sync.handout import Handout, read_handout, write_handout
from sync.nearby.authority import Authority, Role
from sync.returns import Return, read_return, write_return
from sync.sealed import FileKind, seal, take_apart

MAKER = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
RECEIVER = X25519PrivateKey.from_private_bytes(bytes(range(1, 33)))
LINES = [{"about": "Wren Oakham, born 2017-05-02"}, {"n": 1}, {"n": 2}]


def sealed_return() -> bytes:
    receiver = RECEIVER.public_key().public_bytes_raw()
    return seal(FileKind.RETURN, {"visit": "v"}, LINES, receiver=receiver, maker=MAKER)


WHOLE = sealed_return()


def open_it(data: bytes) -> list[dict]:
    taken = take_apart(data, FileKind.RETURN)
    taken.check_signature(MAKER.public_key().public_bytes_raw())
    return list(taken.unseal(RECEIVER))


def test_what_was_sealed_comes_back_and_nothing_of_it_is_readable():
    assert open_it(WHOLE) == LINES
    for word in (b"Wren", b"Oakham", b"2017"):
        assert word not in WHOLE


def test_every_cut_is_refused():
    for length in range(len(WHOLE)):
        with pytest.raises((Damaged, ForeignFile)):
            open_it(WHOLE[:length])


def test_every_flipped_bit_of_every_byte_is_refused():
    for place in range(len(WHOLE)):
        for bit in (0, 7):
            changed = bytearray(WHOLE)
            changed[place] ^= 1 << bit
            with pytest.raises((Damaged, ForeignFile, NewerVersion)):
                open_it(bytes(changed))


def test_another_maker_and_another_receiver_are_refused():
    taken = take_apart(WHOLE, FileKind.RETURN)
    with pytest.raises(Damaged):
        taken.check_signature(Ed25519PrivateKey.generate().public_key().public_bytes_raw())
    with pytest.raises(Damaged):
        list(taken.unseal(X25519PrivateKey.generate()))


@given(st.binary(max_size=400) | st.binary(max_size=200).map(lambda tail: WHOLE[:60] + tail))
@settings(max_examples=400, deadline=None)
def test_any_bytes_raise_only_documented_errors(data):
    with pytest.raises(QuietbellError):
        open_it(data)


def with_packed(packed: bytes, header: bytes = b'{"visit":"v"}') -> bytes:
    """A file whose sealed part unpacks from these bytes, sealed and signed as it should be."""
    bound = sealed._PRELUDE.pack(sealed.MAGIC, 1, FileKind.RETURN, len(header), len(packed) + 48) + header
    body = bound + sealed._SUITE.encrypt(packed, RECEIVER.public_key(), info=bound)
    return body + MAKER.sign(body)


@pytest.mark.parametrize(
    "line",
    [
        b'{"id":"1@a","id":"2@a"}',
        b'{"body":{"heard":false,"heard":true}}',
        b'{"n":NaN}',
        b'{"n":-Infinity}',
        b'{"n":1e999}',
        b'{"n":' + b"9" * 5000 + b"}",
        b'{"n":"\\ud800"}',
        b'{"n":' + b"[" * 40 + b"]" * 40 + b"}",
        b'{"n":' + b"[" * 100_000,
        b"[]",
        b'"text"',
        b"",
        b'{"n":1} {"n":2}',
        b"\xff\xfe",
        b'\xef\xbb\xbf{"n":1}',
    ],
)
def test_a_line_that_could_be_read_in_two_ways_or_not_kept_is_refused(line):
    for lines in (line, b'{"n":1}\n' + line, line + b'\n{"n":1}'):
        with pytest.raises(Damaged, match="altered or damaged"):
            open_it(with_packed(zlib.compress(lines)))


def test_a_body_that_does_not_unpack_or_goes_on_after_its_end_is_refused():
    packed = zlib.compress(b'{"n":1}')
    assert open_it(with_packed(packed)) == [{"n": 1}]
    for odd in (b"", b"no zlib", packed[:-1], packed + b"x", packed + packed, packed[:3]):
        with pytest.raises(Damaged):
            open_it(with_packed(odd))


def test_a_body_that_unpacks_without_end_is_stopped_at_its_bound():
    bomb = zlib.compress(b'{"n":"' + b"0" * 30_000_000 + b'"}', 9)
    assert len(bomb) < 40_000
    taken = take_apart(with_packed(bomb), FileKind.RETURN)
    with pytest.raises(Damaged):
        list(taken.unseal(RECEIVER, 1_000_000))


@pytest.mark.parametrize(
    "header", [b"", b"[]", b'{"visit":"v","visit":"w"}', b"\xff", b"{" * 60_000, b'{"visit":NaN}']
)
def test_a_header_that_cannot_be_read_in_one_way_is_refused(header):
    with pytest.raises(Damaged):
        open_it(with_packed(zlib.compress(b"{}"), header))


def an_entry(counter: int) -> Entry:
    stamp = f"{counter:015d}.000000@dev"
    return Entry(f"{counter}@dev", stamp, "2026-10-14T08:30:00-05:00", "MK", "v", Kind.VISIT_CLOSED, {})


def test_a_handout_opens_with_its_passphrase_alone():
    now = datetime(2026, 10, 14, 7, tzinfo=UTC)
    authority = Authority.make("v", now)
    handout = Handout(
        authority=authority.certificate,
        identity=authority.issue(Role.TABLET, "t", now),
        visit="v",
        school="Quillmarsh School",
        tablet="A",
        tablet_id="t",
        tablet_signing_private=bytes(range(2, 34)),
        lead_signing_public=MAKER.public_key().public_bytes_raw(),
        lead_sealing_public=RECEIVER.public_key().public_bytes_raw(),
        book_device="b",
        made_at="2026-10-14T07:00:00-05:00",
        entries=(an_entry(1), an_entry(2)),
    )
    data = write_handout(
        handout,
        passphrase="four small grey herons",
        lead_signing_private=MAKER.private_bytes_raw(),
        random=os.urandom,
        cost=CHEAP,
    )
    assert read_handout(data, "four small grey herons") == handout
    with pytest.raises(QuietbellError) as wrong:
        read_handout(data, "five small grey herons")
    assert wrong.value.exit_status == 4
    assert b"Quillmarsh" not in data


def test_a_return_of_another_visit_or_an_unknown_tablet_is_foreign():
    returned = Return(
        visit="v",
        tablet_id="t",
        device="dev",
        handout_made_at="2026-10-14T07:00:00-05:00",
        received_at="2026-10-14T07:10:00-05:00",
        made_at="2026-10-14T12:00:00-05:00",
        highest=2,
        entries=(an_entry(1), an_entry(2)),
    )
    data = write_return(
        returned,
        lead_sealing_public=RECEIVER.public_key().public_bytes_raw(),
        tablet_signing_private=MAKER.private_bytes_raw(),
    )
    keys = {"t": MAKER.public_key().public_bytes_raw()}
    private = RECEIVER.private_bytes_raw()
    assert read_return(data, visit="v", tablet_keys=keys, lead_sealing_private=private) == returned
    with pytest.raises(ForeignFile, match="another visit"):
        read_return(data, visit="w", tablet_keys=keys, lead_sealing_private=private)
    with pytest.raises(ForeignFile, match="never made a handout"):
        read_return(data, visit="v", tablet_keys={}, lead_sealing_private=private)
