"""Keys: both slots, what binds them, the caps on what a header may ask for."""

from __future__ import annotations

import os

import pytest
from cryptography.exceptions import UnsupportedAlgorithm
from hypothesis import given, settings
from hypothesis import strategies as st

from shared.errors import Damaged, WrongPassphrase
from shared.vault import CHEAP, Cost, keys

SECRET = bytes(range(32))
CHEAP_SCRYPT = Cost("scrypt", memory_kib=16, passes=1, lanes=1)


@pytest.mark.parametrize("cost", [CHEAP, CHEAP_SCRYPT], ids=["argon2id", "scrypt"])
def test_a_passphrase_slot_gives_the_secret_back(cost: Cost, seeded):
    slot = keys.wrap_with_passphrase(SECRET, "paper boats at noon", cost, seeded, context=b"here")
    assert keys.unwrap(slot, "paper boats at noon", context=b"here") == SECRET
    assert SECRET.hex() not in str(slot)
    for passphrase, context in (("paper boats at one", b"here"), ("paper boats at noon", b"there")):
        with pytest.raises(WrongPassphrase):
            keys.unwrap(slot, passphrase, context=context)


@settings(max_examples=30, deadline=None)
@given(secret=st.binary(max_size=80), passphrase=st.text(max_size=40), context=st.binary(max_size=20))
def test_any_secret_and_any_passphrase(secret: bytes, passphrase: str, context: bytes):
    slot = keys.wrap_with_passphrase(secret, passphrase, CHEAP, os.urandom, context=context)
    assert keys.unwrap(slot, passphrase, context=context) == secret


def test_the_same_word_from_another_keyboard_opens_too():
    """RFC 8265, section 4.2.2: non-ASCII spaces map to a space, then NFC."""
    composed, decomposed = "caf\u00e9 au\u00a0lait bleu", "cafe\u0301 au lait bleu"
    slot = keys.wrap_with_passphrase(SECRET, composed, CHEAP, os.urandom)
    assert keys.unwrap(slot, decomposed) == SECRET
    with pytest.raises(WrongPassphrase):
        keys.unwrap(slot, composed.upper())


@pytest.mark.parametrize("name", ["memory_kib", "passes", "lanes", "salt", "nonce", "sealed", "kdf", "type"])
def test_every_part_of_a_slot_is_bound_to_its_seal(name: str):
    slot = keys.wrap_with_passphrase(SECRET, "paper boats at noon", Cost(memory_kib=64), os.urandom)
    changed: dict[str, object] = {"kdf": "scrypt", "type": "lead"}
    value = slot[name]
    if isinstance(value, int):
        changed[name] = value + 1
    elif name not in changed:
        changed[name] = f"{int(value[:2], 16) ^ 1:02x}{value[2:]}"
    with pytest.raises((WrongPassphrase, Damaged)):
        keys.unwrap({**slot, name: changed[name]}, "paper boats at noon")


@pytest.mark.parametrize(
    "hostile",
    [
        {"memory_kib": 256 * 1024 + 1},
        {"memory_kib": 2**40},
        {"memory_kib": 31},
        {"memory_kib": True},
        {"memory_kib": 64.0},
        {"memory_kib": "64"},
        {"passes": 17},
        {"passes": 0},
        {"passes": -1},
        {"lanes": 17},
        {"lanes": None},
        {"kdf": "argon2d"},
        {"kdf": None},
        {"kdf": "scrypt", "lanes": 1, "memory_kib": 48},
        {"kdf": "scrypt", "lanes": 2},
        {"kdf": "scrypt", "lanes": 1, "memory_kib": 1},
        {"salt": ""},
        {"salt": "00" * 15},
        {"salt": "zz" * 16},
        {"salt": None},
        {"nonce": "00" * 11},
        {"sealed": 7},
    ],
    ids=str,
)
def test_a_hostile_slot_is_refused_before_it_costs_anything(hostile: dict[str, object], monkeypatch):
    slot = keys.wrap_with_passphrase(SECRET, "paper boats at noon", CHEAP, os.urandom)
    if not {"nonce", "sealed"} & hostile.keys():
        monkeypatch.setattr(Cost, "derive", lambda *_: pytest.fail("derived before it was checked"))
    with pytest.raises(Damaged):
        keys.unwrap({**slot, **hostile}, "paper boats at noon")


def test_a_slot_without_some_part_is_damaged():
    slot = keys.wrap_with_passphrase(SECRET, "paper boats at noon", CHEAP, os.urandom)
    for name in set(slot) - {"type"}:
        with pytest.raises(Damaged):
            keys.unwrap({key: value for key, value in slot.items() if key != name}, "paper boats at noon")


def test_an_endless_passphrase_is_not_derived(monkeypatch):
    slot = keys.wrap_with_passphrase(SECRET, "paper boats at noon", CHEAP, os.urandom)
    monkeypatch.setattr(Cost, "derive", lambda *_: pytest.fail("derived"))
    with pytest.raises(WrongPassphrase):
        keys.unwrap(slot, "x" * 100_000)


def test_scrypt_stands_in_where_argon2id_is_missing(monkeypatch):
    def missing(*_: object) -> bytes:
        raise UnsupportedAlgorithm("no Argon2id here")

    monkeypatch.setattr(Cost, "derive", missing)
    keys.usual_cost.cache_clear()
    try:
        cost = keys.usual_cost()
    finally:
        keys.usual_cost.cache_clear()
    assert cost == keys.SCRYPT
    # scrypt needs 128 x N x r bytes (RFC 7914, section 2): the same 64 MiB as Argon2id.
    assert 128 * cost.memory_kib * 8 == 64 * 1024 * 1024


def test_the_leads_slot_opens_with_the_leads_key_only():
    private, public = keys.lead_key_pair(os.urandom)
    other, _ = keys.lead_key_pair(os.urandom)
    slot = keys.wrap_for_lead(SECRET, public, context=b"here")
    assert keys.unwrap_with_lead_key(slot, private, context=b"here") == SECRET
    for key, context in ((other, b"here"), (private, b"there"), (b"short", b"here")):
        with pytest.raises(WrongPassphrase):
            keys.unwrap_with_lead_key(slot, key, context=context)
    with pytest.raises(Damaged):
        keys.unwrap_with_lead_key({**slot, "sealed": "x"}, private, context=b"here")


def test_keys_for_two_purposes_have_nothing_in_common():
    ours = {keys.derived(SECRET, purpose, salt=salt) for purpose in ("a", "b") for salt in (b"", b"1")}
    assert len(ours) == 4 and SECRET not in ours
