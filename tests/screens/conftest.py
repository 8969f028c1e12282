"""A tablet store of a small visit on a cheap key derivation, and a hand on the app's real window."""

from __future__ import annotations

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

PASSPHRASE = "seven quiet bells ring"
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
