"""The invented visit on the gallery's pictures: a book, a tablet, a morning's work, and whatever is awkward."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

from fieldapp.platform.clock import ScriptClock
from fieldapp.services.desk import Desk
from fieldapp.services.presets import load_protocol
from fieldapp.services.station import Station
from shared.records.entries import Reason
from shared.records.standing import Person, Status
from shared.vault import CHEAP

PASSPHRASE = "seven quiet bells ring"
DAY = date(2026, 9, 14)
ZONE = timezone(timedelta(hours=-5))

READY = {
    "audiometer": "AM-04",
    "earphones": "EP-04",
    "calibrated": "2026-08-20",
    "inspection": {"cords": True, "cushions": True, "headband": True, "plugs": True, "controls": True},
    "tone_normally_off": True,
    "listening": {"right": [1000, 2000, 4000], "left": [1000, 2000, 4000]},
    "own_thresholds": {
        "right": {"1000": 5, "2000": 5, "4000": 0},
        "left": {"1000": 10, "2000": 5, "4000": 5},
    },
}

#: class -> children, with the names that a list has trouble with.
CHILDREN = {
    "3A": "Fairweather Mei/Quillfeather Samir/Ashdown Poppy/Marchbanks Theo/Oyelaran Folake/Brightwater Jonah",
    "3B": "Velloso Amara/Wetherell Tobias/Yilmazer Deniz/Abernethy Lou/Castellanos~Ruiz Inés/Okoro Chidi/"
    "Lindqvist Åsa/Fenwick Rosalind",
    "4A": "van~der~Hoogenbroeck-Montgomery-Ashcombe Oluwaseun-Adebayo~Maximilian/النجار أمل/שלום נועה/Đỗ Ngọc~Ánh/"
    "शर्मा प्रिया/Петренко Оксана/ঠাকুর অমিত/ხარაძე ნინო/ስለሺ ሰላም/สมบัติ กานดา/O’Rourke-Nkemelu Siobhán",
    "4B": "Hollowell Wren/Pemberton Iris/Sandoval~Peña Mateo/王 小雨/佐藤 さくら/김 민준",
}
FEW = ("4A", "4B")


def people() -> list[Person]:
    """Every child of the invented school."""
    found = []
    for class_name, names in CHILDREN.items():
        for name in names.split("/"):
            family, given = (part.replace("~", " ") for part in name.split(" "))
            number = len(found) + 10432
            born = date(2018 if class_name[0] == "3" else 2016, 1 + number % 12, 1 + number * 7 % 28)
            found.append(
                Person(
                    given, family, born.isoformat(), f"S-{number}", class_name[0], class_name, language="en"
                )
            )
    return found


class GalleryVisit:
    """Makes the stores in a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.clock = ScriptClock(datetime(2026, 9, 14, 8, 5, tzinfo=ZONE))
        self.book, self.store = folder / "harrowgate.book", folder / "tablet-c.store"
        desk = Desk.prepare(
            self.book,
            PASSPHRASE,
            school="Tern Hollow Primary",
            people=people(),
            protocol=load_protocol("aaa-2011"),
            dates=[DAY, DAY + timedelta(1)],
            clock=self.clock,
            cost=CHEAP,
        )
        for tablet in ("A", "C"):
            desk.hand_out(tablet, folder / f"{tablet}.handout", PASSPHRASE, cost=CHEAP)
        desk.close()
        self.receive("C", self.store).close()

    def receive(self, tablet: str, store: Path) -> Station:
        """A tablet store from its handout."""
        return Station.receive(
            self.folder / f"{tablet}.handout", store, PASSPHRASE, clock=self.clock, cost=CHEAP
        )

    def at(self, hour: int, minute: int) -> None:
        """Move the clock."""
        self.clock.set(datetime(2026, 9, 14, hour, minute, tzinfo=ZONE))

    def morning(self, station: Station) -> None:
        """A readiness check and some children, one of each kind."""
        station.sign_in("MK")
        self.at(8, 12)
        station.check_readiness(READY)
        by_name = {s.person.given: s.child for s in station.standings()}
        self.at(9, 24)
        for name in ("Mei", "Samir", "Poppy", "Theo"):
            self.clock.set(self.clock.now() + timedelta(seconds=49))
            station.walk_script(by_name[name], "++++++")
        for name, answers in (("Lou", "++++++"), ("Inés", "+++-++/+++-++")):
            self.clock.set(self.clock.now() + timedelta(seconds=58))
            station.walk_script(by_name[name], answers)
        station.not_tested(by_name["Chidi"], Reason.ABSENT)
        station.not_tested(by_name["Folake"], Reason.EAR_PROBLEM, "drainage, left")
        self.clock.set(self.clock.now() + timedelta(seconds=50))

    def other_tablet(self) -> Path:
        """Tablet A's return: a look-alike added, a child that is on the list added in another spelling, one screened
        twice with another result."""
        station = self.receive("A", self.folder / "tablet-a.store")
        station.sign_in("JO")
        self.at(8, 10)
        station.check_readiness(READY)
        by_name = {s.person.given: s.child for s in station.standings()}
        self.at(10, 20)
        born = next(s.person.born for s in station.standings() if s.person.given == "Tobias")
        added = station.add_child(
            Person("Toby", "Wetherall", f"{born[:8]}{28 - int(born[8:]):02}", "", "3", "3B", added=True)
        )
        station.walk_script(added, "++++++")
        rosalind = next(s.person for s in station.standings() if s.person.given == "Rosalind")
        station.add_child(replace(rosalind, family="Fenwicke", student_number="", added=True))
        station.walk_script(by_name["Inés"], "++++++")
        for child in [s.child for s in station.standings() if s.status is Status.NOT_SEEN][:3]:
            self.clock.set(self.clock.now() + timedelta(seconds=50))
            station.walk_script(child, "++++++")
        file = self.folder / "A-2026-09-14.return"
        station.give_back(file)
        station.close()
        return file
