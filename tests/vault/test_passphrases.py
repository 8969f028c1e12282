"""Passphrases: the floor, and that it is explained kindly."""

from __future__ import annotations

import os

import pytest

from shared.vault import passphrases
from shared.vault.passphrases import WeakPassphrase


@pytest.mark.parametrize(
    "weak",
    [
        "",
        "kurz",
        "ninechars",
        "aaaaaaaaaaaa",
        "abababababab",
        "abcdefghijkl",
        "lkjihgfedcba",
        "0123456789012",
        "qwertyuiop",
        "wordwordword",
        "Password2026",
        "quietbell123",
        "1234 5678 9012",
        "   padding  ",
        "x" * 2000,
    ],
)
def test_weak_ones_are_refused_with_a_reason(weak: str):
    with pytest.raises(WeakPassphrase) as refused:
        passphrases.require(weak)
    assert str(passphrases.weakness(weak)) in refused.value.todo
    assert weak == "" or weak not in str(refused.value)
    assert "words" in passphrases.advice(weak)


@pytest.mark.parametrize(
    "good", ["paper boats at noon", "four unrelated words", "Zwölf kleine Boote", "vier-7-boote"]
)
def test_good_ones_pass(good: str):
    passphrases.require(good)
    assert passphrases.weakness(good) is None


def test_a_middling_one_is_taken_with_advice():
    assert "One more word" in passphrases.advice("vier-7-boote")
    assert "good" in passphrases.advice("paper boats at noon")


def test_what_is_suggested_is_strong_and_each_time_another():
    suggested = {passphrases.suggestion(os.urandom) for _ in range(50)}
    assert len(suggested) == 50
    for one in suggested:
        passphrases.require(one)
        assert [len(word) for word in one.split()] == [6, 6, 6, 6]
