"""The station watch at work on one tablet: fed from its own entries, begun anew by every passed readiness check.

The statistics are ``shared.hearing.station_watch``; here is only what is fed in and what an alarm leaves behind.
"""

from __future__ import annotations

from collections.abc import Iterator

from fieldapp.services.ledger import Ledger
from shared.hearing.station_watch import Alarm, FirstWalk, StationWatch
from shared.records.entries import Entry, Kind
from shared.records.register import Register
from shared.records.standing import Screening


class Watching:
    """Looks at every finished walk of this device."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger
        self._kept: tuple[str, int, StationWatch] | None = None  # readiness check, last walk's counter, watch

    @property
    def asked(self) -> str:
        """What has been asked since the last passed readiness check, in words, or empty."""
        return str(self.raised.body.get("what", "")) if self.raised is not None else ""

    @property
    def counted(self) -> tuple[int, int]:
        """Behind what is asked: how many children missed it, of how many since it most likely began."""
        body = self.raised.body if self.raised is not None else {}
        return len(body.get("missed", ())), len(body.get("children", ()))

    @property
    def raised(self) -> Entry | None:
        """The alarm that no passed readiness check has answered yet, if any."""
        newest = self._ledger.register.newest_of(self._ledger.device, Kind.WATCH_RAISED)
        ready = self.last_passed
        if newest is None or (ready is not None and newest.counter < ready.counter):
            return None
        return newest

    @property
    def last_passed(self) -> Entry | None:
        """This device's newest readiness check that passed, if any."""
        return _last_passed_check(self._ledger.register, self._ledger.device)

    def look(self) -> Alarm | None:
        """Take the newest walks in; a new alarm is written down."""
        watch = self._up_to_date()
        if watch is None or watch.alarm is None or self.raised is not None:
            return None
        alarm = watch.alarm
        body = {
            "suspect": alarm.suspect.value,
            "ear": alarm.ear,
            "hz": alarm.hz,
            "what": alarm.words(),
            "since": alarm.since,
            "children": list(alarm.children),
            "missed": list(alarm.missed),
        }
        self._ledger.write((Kind.WATCH_RAISED, body))
        return alarm

    def _up_to_date(self) -> StationWatch | None:
        """The watch after every walk so far; only walks that it has not yet seen are taken in."""
        register, device = self._ledger.register, self._ledger.device
        ready = _last_passed_check(register, device)
        if ready is None:
            return None
        newest = register.newest_of(device, Kind.SCREENING_FINISHED)
        upto = newest.counter if newest is not None else 0
        if self._kept is None or self._kept[0] != ready.id:
            watch = watch_of(register, ready)
        elif newest is not None and upto > self._kept[1]:
            watch = self._kept[2]
            for walk in _walk_of(register, newest):
                watch = watch.take(walk)
        else:
            watch = self._kept[2]
        self._kept = (ready.id, upto, watch)
        return watch

    def to_walk_again(self) -> list[str]:
        """Children whose misses fell into a noticed fault, until each has been walked again."""
        register = self._ledger.register
        waiting: list[str] = []
        for raised in self._own(Kind.WATCH_RAISED):
            for child in map(str, raised.body.get("missed", ())):
                if child in waiting or not register.is_child(child):
                    continue
                if not _walked_since(register, child, raised):
                    waiting.append(child)
        return waiting

    def _own(self, kind: Kind) -> list[Entry]:
        entries = self._ledger.register.entries(kind)
        return [entry for entry in entries if entry.device == self._ledger.device]


def watch_of(register: Register, ready: Entry) -> StationWatch:
    """The watch over the device that wrote the readiness check ``ready``, over every walk it finished since."""
    watch = StationWatch.begin(register.protocol.steps())
    for entry in register.entries(Kind.SCREENING_FINISHED):
        if entry.device == ready.device and entry.counter > ready.counter:
            for walk in _walk_of(register, entry):
                watch = watch.take(walk)
    return watch


def _walk_of(register: Register, finished: Entry) -> Iterator[FirstWalk]:
    """What the screening that a finishing entry closed tells the watch."""
    child = str(finished.body["child"])
    if register.is_child(child):
        standing = register.standing(child)
        for screening in standing.screenings:
            if screening.id == finished.body["screening"]:
                yield FirstWalk(child, first_walk(screening), standing.missed_before(screening))


def first_walk(screening: Screening) -> dict[tuple[str, int], bool]:
    """(ear, hz) -> heard, of the walk before any reseating."""
    return {(answer.ear, answer.hz): answer.heard for answer in screening.answers if answer.walk == 1}


def _last_passed_check(register: Register, device: str) -> Entry | None:
    last = register.newest_of(device, Kind.READINESS_CHECKED)
    if last is None or last.body.get("passed"):
        return last
    passed = [
        entry
        for entry in register.entries(Kind.READINESS_CHECKED)
        if entry.device == device and entry.body.get("passed")
    ]
    return passed[-1] if passed else None


def _walked_since(register: Register, child: str, raised: Entry) -> bool:
    return any(
        entry.kind is Kind.SCREENING_BEGUN and entry.stamp > raised.stamp for entry in register.about(child)
    )
