"""The clock that is passed in: the device's own, or one that a script sets."""

from __future__ import annotations

from datetime import datetime
from typing import Protocol


class Clock(Protocol):
    """Tells the wall-clock time with its offset from UTC."""

    def now(self) -> datetime:
        """The time now, aware of its offset."""
        ...


class DeviceClock:
    """The clock of the device, in its own time zone."""

    def now(self) -> datetime:
        """The device's local time."""
        return datetime.now().astimezone()


class ScriptClock:
    """A clock that stands where it was last set."""

    def __init__(self, start: datetime) -> None:
        self._now = start

    def set(self, moment: datetime) -> None:
        """Move the clock (backwards too: real tablets do)."""
        self._now = moment

    def now(self) -> datetime:
        """The moment it was set to."""
        return self._now
