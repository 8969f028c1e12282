"""A hand that touches, types and presses keys at random: nothing falls over, nothing is cut or out of reach.

What it meets is not planned, so this finds the way through the screens that no other test thought of. By hand,
longer: ``pytest -m long tests/screens/test_restless_hand_window.py``.
"""

from __future__ import annotations

from datetime import timedelta
from random import Random

import pytest

from tests.facts import FAIL, PASSPHRASE

pytestmark = pytest.mark.window

WORDS = (
    "a",
    "Ve",
    "42",
    "12.5",
    "-5",
    "2026-10-14",
    "31/02/2020",
    "O'Brien-López",
    "陈伟",
    "x" * 60,
    "  ",
    "MK",
)
KEYS = ("escape", "enter", "tab", "down", "up", "left", "right", "backspace", "pagedown", "space", *"hnuprl5")


class Restless:
    """Acts by a seed; ``did`` is what it did last, for whoever must find out what went wrong."""

    def __init__(self, hand, visit, ticks, seed: int) -> None:
        self.hand, self.visit, self.ticks, self.rng = hand, visit, ticks, Random(seed)
        self.known: set[tuple[str, str]] = set()
        self.did: list[str] = []

    def act(self) -> None:
        """One thing at random, and a look at what came of it."""
        hand, rng = self.hand, self.rng
        self.ticks.wait(rng.choice((0.01, 1, 2)))
        if rng.random() < 0.02:
            self.visit.clock.set(
                self.visit.clock.now() + timedelta(minutes=rng.choice((1, 45, 60 * 24 * 21)))
            )
        if hand.screen == "unlock":
            self.unlock()
        what = rng.random()
        if what < 0.75:
            self.touch()
        elif what < 0.87:
            self.note("type", words := rng.choice(WORDS))
            hand.type(words)
        else:
            self.note("key", name := rng.choice(KEYS))
            hand.key(name)
        hand.frames(rng.choice((1, 4)))
        assert not hand.sees("Something went wrong"), self.did
        assert hand.faults() == [], self.did

    def touch(self) -> None:
        """Something that can be pressed, rather what was not touched yet; a tablet is not wiped."""
        from fieldapp.widgets.press import Pressable

        hand = self.hand
        open_ways = [w for w in hand.widgets(Pressable) if not w.disabled and "Wipe" not in hand._said(w)]
        if not open_ways:
            return
        new = [w for w in open_ways if (hand.screen, hand._said(w)) not in self.known]
        chosen = self.rng.choice(new if new and self.rng.random() < 0.6 else open_ways)
        self.known.add((hand.screen, hand._said(chosen)))
        self.note("touch", hand._said(chosen))
        hand.touch(chosen)

    def unlock(self) -> None:
        """What was locked is opened again, as soon as it may."""
        hand, ids = self.hand, self.hand.app.stage.current.ids
        ids.passphrase.ids.entry.text, ids.initials.ids.entry.text = PASSPHRASE, "MK"
        self.ticks.wait(3600)
        hand.touch(ids.open)
        hand.until(lambda: hand.screen != "unlock" or not hand.app.stage.current.presenter.busy)

    def note(self, how: str, what: str) -> None:
        self.did = [*self.did[-9:], f"{self.hand.screen}: {how} {what!r}"]


def be_restless(visit, ticks, store, seed: int, times: int, size: tuple[int, int]) -> int:
    """Act so many times on a store; gives how many different things were touched."""
    from demo.window import Hand

    hand = Hand(visit.session(store, ticks=ticks, exchange=visit.folder), size)
    try:
        hand.unlock(PASSPHRASE, "MK")
        restless = Restless(hand, visit, ticks, seed)
        for _ in range(times):
            restless.act()
        return len(restless.known)
    finally:
        hand.close()


@pytest.fixture
def ticks():
    from tests.screens.conftest import Ticks

    return Ticks()


@pytest.mark.parametrize(("size", "seed"), [((1280, 800), 1), ((800, 480), 2)])
@pytest.mark.parametrize("whose", ["screener", "lead"])
def test_a_restless_hand_breaks_nothing(visit, ticks, whose, size, seed):
    visit.day(("Amara", "++++++"), ("Tobias", FAIL))
    assert be_restless(visit, ticks, visit.store if whose == "screener" else visit.book, seed, 60, size) > 20


@pytest.mark.long
@pytest.mark.parametrize("seed", range(10))
@pytest.mark.parametrize("whose", ["screener", "lead"])
def test_a_restless_hand_breaks_nothing_for_long(visit, ticks, whose, seed):
    visit.day(("Amara", "++++++"), ("Tobias", FAIL))
    size = ((1280, 800), (800, 480))[seed % 2]
    assert (
        be_restless(visit, ticks, visit.store if whose == "screener" else visit.book, 100 + seed, 600, size)
        > 60
    )
