"""A tablet store of a small visit on a cheap key derivation; rooms without a window, and a hand on the real one."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from fieldapp.platform.clock import DeviceClock, ScriptClock
from fieldapp.services.desk import Desk
from fieldapp.services.presets import load_protocol
from fieldapp.services.station import Station
from shared.records.standing import Person
from shared.vault import CHEAP
from tests.facts import PASSPHRASE, READY

PEOPLE = [
    Person("Amara", "Velloso", "2018-03-14", "S-10432", "3", "3B"),
    Person("Tobias", "Wetherell", "2017-11-02", "S-10462", "3", "3B"),
    Person("Deniz", "Yilmazer", "2018-01-30", "S-10477", "3", "3B"),
    Person("Mei", "Fairweather", "2018-02-02", "S-10398", "3", "3A"),
    Person("Inés", "Castellanos Ruiz", "2016-05-21", "S-10011", "4", "4A"),
]


class Visit:
    """A visit book with one tablet store beside it."""

    def __init__(self, folder: Path, people: list[Person] | None = None, clock: Any = None) -> None:
        self.folder = folder
        self.people = people or PEOPLE
        self.clock = clock or ScriptClock(datetime(2026, 9, 14, 8, 0, tzinfo=timezone(timedelta(hours=-5))))
        self.book = folder / "visit.book"
        self.store = folder / "tablet.store"
        self.returned = folder / "C.return"
        desk = Desk.prepare(
            self.book,
            PASSPHRASE,
            school="Tern Hollow Primary",
            people=people or PEOPLE,
            protocol=load_protocol("aaa-2011"),
            dates=[date(2026, 9, 14)],
            clock=self.clock,
            cost=CHEAP,
        )
        desk.hand_out("C", folder / "C.handout", PASSPHRASE, cost=CHEAP)
        desk.close()
        Station.receive(folder / "C.handout", self.store, PASSPHRASE, clock=self.clock, cost=CHEAP).close()

    def open(self, path: str, passphrase: str) -> Any:
        """As the app opens a store, with this visit's clock."""
        from shared.vault import kind_of

        kind = Station if kind_of(path) == "tablet" else Desk
        return kind.open(Path(path), passphrase, clock=self.clock)

    def session(self, path: Path | None = None, **more: Any) -> Any:
        """A session on the tablet store, or on another path."""
        from fieldapp.screens.session import Session

        return Session(opener=self.open, store_path=str(path or self.store), clock=self.clock.now, **more)

    @contextmanager
    def tablet(self) -> Iterator[Station]:
        """The tablet with MK at work on it; at the end its return is written and the store shut."""
        station = self.open(str(self.store), PASSPHRASE)
        station.sign_in("MK")
        if not station.ready.open:
            assert station.check_readiness(READY).passed
        yield station
        station.give_back(self.returned)
        station.close()

    def day(self, *walks: tuple[str, str]) -> None:
        """Walks on the tablet (given name, answers), whose return is left for the lead."""
        with self.tablet() as station:
            for given, answers in walks:
                station.walk_script(child_named(station, given), answers)


def child_named(service: Station | Desk, given: str) -> str:
    """The record id of the child with that given name."""
    return next(s.child for s in service.standings() if s.person.given == given)


class Ticks:
    """A stopwatch that the test moves, so that taps are never too close."""

    def __init__(self) -> None:
        self.at = time.monotonic()

    def __call__(self) -> float:
        return self.at

    def wait(self, seconds: float) -> None:
        self.at += seconds


@pytest.fixture
def room() -> Any:
    """The screener's session on a station in memory."""
    from tests.screens.room import Room

    return Room()


@pytest.fixture
def lead(visit: Visit) -> Any:
    """The lead's session on the visit's book; tests on the window have a hand of that name instead."""
    from tests.screens.lead import Lead

    made = Lead(visit)
    yield made
    made.desk.close()


@pytest.fixture
def visit(tmp_path: Path) -> Visit:
    """A visit of five children and one tablet."""
    return Visit(tmp_path)


@pytest.fixture
def visit_today(tmp_path: Path) -> Visit:
    """The same visit by the device's own clock, which certificates are checked against."""
    return Visit(tmp_path, clock=DeviceClock())


@pytest.fixture
def hand(visit: Visit) -> Any:
    """A hand on the window of the visit's tablet."""
    from demo.window import Hand

    hand = Hand(visit.session())
    yield hand
    hand.close()
