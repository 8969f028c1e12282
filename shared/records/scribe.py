"""The scribe of one device: gives each new entry its gapless counter and its stamp. Nothing else."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from shared.records.entries import Entry, Kind
from shared.records.stamps import stamp_after


class Scribe:
    """Writes the entries of ``device`` in ``visit``, one after the other.

    The caller stores each entry durably; an entry whose storing was refused is given back with
    ``forget``, so that counters stay gapless.
    """

    def __init__(self, device: str, visit: str) -> None:
        self.device = device
        self.visit = visit
        self._counter = 0
        self._last_stamp = ""

    @property
    def counter(self) -> int:
        """The counter of the last entry written, 0 if none."""
        return self._counter

    def notice(self, entry: Entry) -> None:
        """Take account of an entry read from the store or from another device."""
        if entry.device == self.device:
            self._counter = max(self._counter, entry.counter)
        self._last_stamp = max(self._last_stamp, entry.stamp)

    def write(self, kind: Kind, body: Mapping[str, Any], *, author: str, now: datetime) -> Entry:
        """The next entry; ``now`` is the device's wall clock with its offset."""
        stamp = stamp_after(self._last_stamp, int(now.timestamp() * 1000), self.device)
        self._counter += 1
        self._last_stamp = stamp
        entry_id = f"{self._counter}@{self.device}"
        at = now.isoformat(timespec="seconds")
        return Entry(entry_id, stamp, at, author, self.visit, kind, dict(body))

    def forget(self, entry: Entry) -> None:
        """Take back the newest entry, whose storing was refused."""
        if entry.device == self.device and entry.counter == self._counter:
            self._counter -= 1
