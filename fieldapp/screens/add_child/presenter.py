"""Adds a child whom the list lacks, and warns while one types if a look-alike is on it already. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.doors import Doors
from shared.records.standing import Person, Standing

YOUNGEST, OLDEST = 2, 20  # years of age that can be chosen


@dataclass(frozen=True, slots=True)
class Alike:
    """A child on the list who may be the one being added."""

    child: str
    name: str
    about: str


class AddChildPresenter(Presenter):
    """Given and family name are needed; birth date and class help the office."""

    def enter(self, typed: str = "") -> None:
        self.given = ""
        self.family = typed.strip().title()
        self.born = ""
        self.class_name = self.session.class_open or ""
        self.alike: list[Alike] = []
        self._look()

    def set(self, **fields: str) -> None:
        """Something was typed or chosen."""
        for name, value in fields.items():
            setattr(self, name, value)
        self._look()
        self.changed()

    @property
    def complete(self) -> bool:
        """Whether both names are there."""
        return bool(self.given.strip() and self.family.strip())

    def about(self, field: str) -> str:
        """What is being chosen, and for whom as far as the name is typed."""
        name = f"{self.given.strip()} {self.family.strip()}".strip()
        return " · ".join(part for part in (self.t(f"add_child.{field}"), name) if part)

    @property
    def screens_at_once(self) -> bool:
        """Whether the child can be walked as soon as it is added."""
        station = self.session.station
        in_hand = station.current is not None or station.thresholds.current is not None
        return bool(station.ready.open and not in_hand)

    def person(self) -> Person:
        """The child as typed so far."""
        return Person(
            given=self.given.strip(),
            family=self.family.strip(),
            born=self.born,
            class_name=self.class_name or "",
            grade=self._grade(),
            added=True,
        )

    def _grade(self) -> str:
        """The grade that the others of the class are in."""
        if not self.class_name:
            return ""
        rows = self.session.station.rows(self.class_name, limit=1)
        return str(rows[0].person.grade) if rows else ""

    def _look(self) -> None:
        self.alike = []
        if not self.complete:
            return
        station = self.session.station
        for pair in station.lookalikes(self.person()):
            standing = station.standing(pair.b)
            self.alike.append(self._alike(standing))

    def _alike(self, standing: Standing) -> Alike:
        t, person = self.t, standing.person
        parts = (person.class_name, phrases.short_date(t, person.born), phrases.status_line(t, standing))
        return Alike(standing.child, phrases.name_listed(person), " · ".join(part for part in parts if part))

    def add(self) -> None:
        """Add the child and begin with it where the station is ready."""
        made: list[str] = []
        session = self.session
        shown = [each.child for each in self.alike]
        if not self.guarded(lambda: made.append(session.station.add_child(self.person(), unlike=shown))):
            return
        session.class_name = self.class_name or "+"
        self._begin(made[0])

    def choose(self, child: str) -> None:
        """It is the child on the list after all."""
        standing = self.session.station.standing(child)
        self.session.class_name = standing.person.class_name
        self._begin(child)

    def _begin(self, child: str) -> None:
        """Through the same doors as from the list; the list itself where nobody can be walked now."""
        if not self.screens_at_once:
            self.session.go("next_child")
        else:
            Doors(self.session).choose(child)

    def years(self) -> list[int]:
        """The birth years that can be chosen, youngest first."""
        year = self.session.clock().date().year
        return list(range(year - YOUNGEST, year - OLDEST, -1))

    def classes(self) -> list[Any]:
        """The classes of this tablet."""
        return [count.name for count in self.session.station.classes() if count.name]
