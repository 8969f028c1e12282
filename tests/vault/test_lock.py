"""The screen lock and the patience after wrong passphrases, on a clock of the test's own."""

from __future__ import annotations

import os

import pytest

from shared.vault.lock import Patience, ScreenLock, WeakPin


class Clock:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def lock_with_pin(clock: Clock, pin: str = "4071") -> ScreenLock:
    lock = ScreenLock(clock=clock, random=os.urandom, idle_seconds=60)
    lock.set_pin(pin)
    return lock


def test_it_locks_itself_when_nobody_is_there(clock: Clock):
    lock = lock_with_pin(clock)
    clock.now += 59
    assert not lock.locked
    lock.touch()
    clock.now += 59
    assert not lock.locked
    clock.now += 1
    assert lock.locked
    lock.touch()  # a touch on a locked screen unlocks nothing
    assert lock.locked


def test_the_pin_lifts_it_and_gives_all_tries_back(clock: Clock):
    lock = lock_with_pin(clock)
    lock.lock()
    assert not lock.try_pin("0000") and lock.tries_left == 4
    assert lock.try_pin("4071") and not lock.locked and lock.tries_left == 5


def test_five_wrong_pins_and_only_the_passphrase_helps(clock: Clock):
    lock = lock_with_pin(clock)
    lock.lock()
    for left in (4, 3, 2, 1, 0):
        assert not lock.try_pin("0000")
        assert lock.tries_left == left
    assert lock.needs_passphrase and not lock.try_pin("4071") and lock.locked
    lock.lift()
    assert not lock.locked and not lock.needs_passphrase


def test_without_a_pin_the_passphrase_is_needed(clock: Clock):
    lock = ScreenLock(clock=clock, random=os.urandom)
    lock.lock()
    assert lock.needs_passphrase and not lock.try_pin("") and lock.locked


@pytest.mark.parametrize("pin", ["", "123", "123456789", "abcd", "1111", "1234", "9876", "12 4", "١٢٣٥"])
def test_weak_pins_are_refused(clock: Clock, pin: str):
    lock = ScreenLock(clock=clock, random=os.urandom)
    with pytest.raises(WeakPin):
        lock.set_pin(pin)
    assert lock.needs_passphrase


def test_the_wait_after_wrong_passphrases_grows_and_ends_with_the_right_one(clock: Clock):
    patience = Patience(clock=clock)
    waits = [patience.wrong() for _ in range(10)]
    assert waits[:2] == [0, 0] and waits == sorted(waits) and waits[-1] == waits[-2] == 60
    assert patience.wait_seconds == 60
    clock.now += 45
    assert patience.wait_seconds == 15
    clock.now += 45
    assert patience.wait_seconds == 0
    patience.right()
    assert patience.wrong() == 0
