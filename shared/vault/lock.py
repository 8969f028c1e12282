"""The screen lock and the patience after wrong passphrases: pure rules, the clock is passed in.

A PIN lifts the screen lock while the store's key is in memory; it protects nothing at rest. After five wrong
PINs only the passphrase helps, and whoever drives this lock must then close the vault.
"""

from __future__ import annotations

import hmac
from collections.abc import Callable
from hashlib import sha256
from itertools import pairwise

from shared.errors import Refused

Clock = Callable[[], float]  # seconds, never going back

PIN_TRIES = 5
LEAST_PIN_DIGITS = 4
MOST_PIN_DIGITS = 8
IDLE_SECONDS = 120.0

# How long to wait after the n-th wrong passphrase in a row: two slips are free.
_WAITS = (0.0, 0.0, 2.0, 5.0, 10.0, 20.0, 40.0, 60.0)


class WeakPin(Refused):
    """The PIN is too easily guessed."""


def pin_weakness(pin: str) -> str | None:
    """Why a PIN will not do, as one kind sentence, or None."""
    if not (pin.isascii() and pin.isdigit() and LEAST_PIN_DIGITS <= len(pin) <= MOST_PIN_DIGITS):
        return f"A PIN has {LEAST_PIN_DIGITS} to {MOST_PIN_DIGITS} digits."
    steps = {int(after) - int(before) for before, after in pairwise(pin)}
    if steps in ({0}, {1}, {-1}):
        return "Digits that repeat or run in a row are tried first."
    return None


class ScreenLock:
    """Locks by hand, when idle, or when the app goes to the background; lifted by PIN or passphrase."""

    def __init__(
        self, *, clock: Clock, random: Callable[[int], bytes], idle_seconds: float = IDLE_SECONDS
    ) -> None:
        self._clock = clock
        self._idle = idle_seconds
        self._salt = random(32)
        self._pin: bytes | None = None
        self._tries = PIN_TRIES
        self._locked = False
        self._touched = clock()

    def set_pin(self, pin: str) -> None:
        """Choose the PIN, on an unlocked screen; raises ``WeakPin``."""
        self.judge_pin(pin)
        self._pin = self._digest(pin)
        self._tries = PIN_TRIES

    @staticmethod
    def judge_pin(pin: str) -> None:
        """Raise ``WeakPin`` for one that is too easy to guess."""
        weak = pin_weakness(pin)
        if weak is not None:
            raise WeakPin("This PIN is too easy to guess.", todo=f"{weak} Choose another one.")

    def touch(self) -> None:
        """Someone is there."""
        if not self.locked:
            self._touched = self._clock()

    def lock(self) -> None:
        """Lock now."""
        self._locked = True

    @property
    def locked(self) -> bool:
        """Whether names must be hidden; turns true by itself after idle time."""
        if self._clock() - self._touched >= self._idle:
            self._locked = True
        return self._locked

    @property
    def needs_passphrase(self) -> bool:
        """Whether a PIN no longer helps: none was set, or five were wrong."""
        return self._pin is None or self._tries == 0

    @property
    def tries_left(self) -> int:
        """How many PINs may still be tried."""
        return 0 if self.needs_passphrase else self._tries

    def try_pin(self, pin: str) -> bool:
        """Lift the lock by PIN; a wrong one uses up a try."""
        if self._pin is None or self._tries == 0:
            return False
        if hmac.compare_digest(self._pin, self._digest(pin)):
            self.lift()
            return True
        self._tries -= 1
        return False

    def lift(self) -> None:
        """Lift the lock after the right PIN or passphrase."""
        self._locked = False
        self._tries = PIN_TRIES
        self._touched = self._clock()

    def _digest(self, pin: str) -> bytes:
        return hmac.new(self._salt, pin.encode(), sha256).digest()


class Patience:
    """The growing wait after wrong passphrases. It slows a person at the screen, not a thief with the file."""

    def __init__(self, *, clock: Clock) -> None:
        self._clock = clock
        self._wrong = 0
        self._until = clock()

    @property
    def wait_seconds(self) -> float:
        """How long until the next try is taken; 0 when it may be now."""
        return max(0.0, self._until - self._clock())

    def wrong(self) -> float:
        """Note a wrong passphrase; returns the wait that it earns."""
        wait = _WAITS[min(self._wrong, len(_WAITS) - 1)]
        self._wrong += 1
        self._until = self._clock() + wait
        return wait

    def right(self) -> None:
        """Note the right passphrase: patience starts afresh."""
        self._wrong = 0
        self._until = self._clock()
