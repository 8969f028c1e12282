"""The self-test: every known answer is right here, and a primitive gone wrong stops the vault."""

from __future__ import annotations

from pathlib import Path

import pytest

from shared.errors import Refused
from shared.vault import CHEAP, Vault, selftest


@pytest.mark.parametrize("name", selftest.KNOWN_ANSWERS)
def test_known_answer(name: str):
    """RFC 8439 section 2.8.2, RFC 9106 section 5.3, RFC 7914 section 12, RFC 9180 appendix A.2.1, RFC 8032
    section 7.1: each value stands in the function of that name, as the RFC prints it."""
    assert selftest.KNOWN_ANSWERS[name]()


@pytest.mark.parametrize("name", selftest.KNOWN_ANSWERS)
def test_a_wrong_answer_stops_everything(name: str, monkeypatch, tmp_path: Path, passphrase):
    monkeypatch.setitem(selftest.KNOWN_ANSWERS, name, lambda: False)
    selftest.run_once.cache_clear()
    try:
        with pytest.raises(Refused, match=r"cannot be trusted"):
            Vault.create(tmp_path / "s", kind="tablet", passphrase=passphrase, cost=CHEAP)
    finally:
        selftest.run_once.cache_clear()
    assert list(tmp_path.iterdir()) == []


def test_a_primitive_that_breaks_stops_everything(monkeypatch):
    class Broken:
        def __init__(self, *_: object) -> None:
            raise SystemError("no such algorithm")

    monkeypatch.setattr(selftest, "ChaCha20Poly1305", Broken)
    selftest.run_once.cache_clear()
    try:
        with pytest.raises(Refused, match="RFC 8439"):
            selftest.run_once()
    finally:
        selftest.run_once.cache_clear()
