"""A visit of three tablets on a cheap key derivation, with a clock that the test sets."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone

import pytest

from fieldapp.platform.clock import ScriptClock
from fieldapp.services.desk import Desk
from fieldapp.services.presets import load_protocol
from fieldapp.services.station import Station
from shared.records.standing import Person
from shared.vault import CHEAP
from tests.facts import PASSPHRASE, READY

PEOPLE = [
    Person("Ada", "Alder", "2018-03-14", "S-1", "3", "3B"),
    Person("Ben", "Birch", "2018-11-02", "S-2", "3", "3B"),
    Person("Cy", "Cedar", "2017-01-30", "S-3", "4", "4A"),
    Person("Inés", "Castaño Ruiz", "2017-05-21", "S-4", "4", "4A"),
]


class Visit:
    """A prepared book and its tablets in one folder."""

    def __init__(self, folder, protocol=None) -> None:
        self.folder = folder
        self.clock = ScriptClock(datetime(2026, 10, 14, 8, 0, tzinfo=timezone(timedelta(hours=-5))))
        self.desk = Desk.prepare(
            folder / "visit.book",
            PASSPHRASE,
            school="Quillmarsh School",
            people=PEOPLE,
            protocol=protocol or load_protocol("aaa-2011"),
            dates=[date(2026, 10, 14)],
            clock=self.clock,
            cost=CHEAP,
        )
        self.stations: list[Station] = []

    def tablet(self, name: str, *, store: str | None = None, ready: bool = True, **more: object) -> Station:
        handout = self.folder / f"{name}.handout"
        if not handout.exists():
            self.desk.hand_out(name, handout, PASSPHRASE, cost=CHEAP, **more)
        store_path = self.folder / f"{store or name}.store"
        station = Station.receive(handout, store_path, PASSPHRASE, clock=self.clock, cost=CHEAP)
        self.stations.append(station)
        if ready:
            station.sign_in("MK")
            assert station.check_readiness(READY).passed
        return station

    def pass_time(self, **span: float) -> None:
        self.clock.set(self.clock.now() + timedelta(**span))

    def ready_again(self, station: Station) -> None:
        assert station.check_readiness(READY).passed

    def give_back(self, station: Station, name: str = "return") -> object:
        file = self.folder / f"{name}-{station.ledger.device}.ret"
        station.give_back(file)
        return file

    def child(self, number: str) -> str:
        return next(s.child for s in self.desk.standings() if s.person.student_number == number)


@pytest.fixture
def make_visit(tmp_path):
    """Makes visits, each in a folder of its own, and closes their stores."""
    made: list[Visit] = []

    def make(**more: object) -> Visit:
        folder = tmp_path / f"visit-{len(made)}"
        folder.mkdir()
        made.append(Visit(folder, **more))
        return made[-1]

    yield make
    for visit in made:
        for station in visit.stations:
            station.close()
        visit.desk.close()


@pytest.fixture
def visit(make_visit):
    """One visit under the default protocol."""
    return make_visit()
