"""A station in memory with the services' interface, for presenter tests: no vault, no disk, no other devices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from types import SimpleNamespace
from typing import Any

from fieldapp.services.presets import load_protocol
from fieldapp.services.roll import tally, waits
from shared.errors import Refused
from shared.hearing.not_tested import earphones_allowed
from shared.hearing.readiness import ReadinessFacts, StepState, check
from shared.hearing.tone_walk import Action, ToneWalk
from shared.records.entries import Reason
from shared.records.standing import Person, Screening, Standing, Status

CHILDREN = (
    ("Amara", "Velloso", "2018-03-14", "3B"),
    ("Tobias", "Wetherell", "2017-11-02", "3B"),
    ("Deniz", "Yilmazer", "2018-01-30", "3B"),
    ("Lou", "Abernethy", "2017-09-09", "3B"),
    ("Inés", "Castellanos Ruiz", "2018-05-21", "3B"),
    ("Chidi", "Okoro", "2018-07-17", "3B"),
    ("Mei", "Fairweather", "2018-02-02", "3A"),
    ("Samir", "Quillfeather", "2017-12-24", "3A"),
    ("Oluwaseun-Adebayo", "van der Hoogenbroeck-Montgomery", "2016-10-10", "4A"),
    ("أمل", "النجار", "2016-08-08", "4A"),
    ("Ngọc Ánh", "Đỗ", "2016-04-30", "4B"),
)


@dataclass
class FakeClock:
    """A clock that tests move."""

    at: datetime = field(default_factory=lambda: datetime.fromisoformat("2026-09-14T09:41:00-05:00"))
    passed: float = 0.0

    def __call__(self) -> datetime:
        return self.at + timedelta(seconds=self.passed)

    def ticks(self) -> float:
        return self.passed

    def wait(self, seconds: float) -> None:
        self.passed += seconds


@dataclass
class FakeStation:
    """Children as standings; a walk as the real pure tone walk."""

    clock: FakeClock = field(default_factory=FakeClock)
    protocol_name: str = "aaa-2011"
    screener: str = "MK"
    closed: bool = False
    full_disk: bool = False
    place: tuple[str, str] = ("", "")
    asked: str = ""  # what the station watch asks for
    missed: int = 0  # behind what is asked
    walked: int = 0
    facts: dict[str, Any] = field(default_factory=dict)  # of the last readiness check

    def __post_init__(self) -> None:
        self.visit = SimpleNamespace(
            school="Tern Hollow Primary",
            tablet="C",
            protocol=load_protocol(self.protocol_name),
            dates=("2026-09-14",),
        )
        self.standings: dict[str, Standing] = {}
        for number, (given, family, born, class_name) in enumerate(CHILDREN, 1):
            person = Person(given, family, born, f"S-{number:05}", class_name[0], class_name)
            self._put(Standing(f"{number}@book", (f"{number}@book",), person, Status.NOT_SEEN))
        self.readiness: Any = None
        self.current: tuple[str, ToneWalk] | None = None
        self.said: list[Any] = []
        self.thresholds = SimpleNamespace(current=None)

    def _put(self, standing: Standing) -> Standing:
        self.standings[standing.child] = standing
        return standing

    def _durable(self) -> None:
        if self.full_disk:
            raise Refused("The disk is full.", kept="Everything before is kept.", todo="Free some space.")

    @property
    def ready(self) -> Any:
        if self.readiness is None or not self.readiness.passed:
            why, steps = "The readiness check has not been done.", ()
            if self.readiness is not None:
                why, steps = "The last readiness check did not pass.", self.readiness.steps
            faults = tuple(r for step in steps if step.state is StepState.FAILED for r in step.reasons)
            return SimpleNamespace(
                open=False, since="", level_db_hl=None, why_closed=why, asked=self.asked, faults=faults
            )
        if self.asked:
            why = f"The station watch asks for a new check. {self.asked}"
            found = {"asked": self.asked, "missed": self.missed, "walked": self.walked, "faults": ()}
            return SimpleNamespace(open=False, since="", level_db_hl=None, why_closed=why, **found)
        return SimpleNamespace(
            open=True,
            since="2026-09-14T08:12:00-05:00",
            level_db_hl=self.readiness.level_db_hl,
            why_closed="",
            asked="",
            faults=(),
        )

    def make_ready(self) -> None:
        """Pass the check with good values."""
        hertz = self.visit.protocol.frequencies
        self.check_readiness(
            {
                "audiometer": "AM-04",
                "earphones": "EP-04",
                "calibrated": "2026-08-20",
                "listening": {ear: list(hertz) for ear in ("right", "left")},
                "own_thresholds": {ear: {str(hz): 5 for hz in hertz} for ear in ("right", "left")},
            }
        )

    def sign_in(self, initials: str) -> None:
        self.screener = initials

    def check_readiness(self, facts: Any, *, carry_over: bool = False) -> Any:
        if carry_over:
            facts = {**self.short_check.facts, **facts}
        self.facts = dict(facts)
        self.readiness = check(ReadinessFacts.from_dict(facts), self.visit.protocol, self.clock().date())
        if self.readiness.passed:
            self.asked = ""
        return self.readiness

    @property
    def short_check(self) -> Any:
        """As after an alarm for one earphone: everything but the listening check is carried over."""
        if not self.asked:
            return None
        kept = {name: value for name, value in self.facts.items() if name not in ("listening", "not_clean")}
        return SimpleNamespace(steps=("listening",), facts=kept, passed_at="2026-09-14T08:12:00-05:00")

    def remember(self, screen: str, class_name: str = "") -> None:
        self.place = (screen, class_name or self.place[1])

    def waits(self, standing: Standing) -> bool:
        return waits(standing, self.clock().date().isoformat())

    def classes(self) -> list[Any]:
        names = sorted({s.person.class_name for s in self.standings.values()})
        return [
            SimpleNamespace(name=name, tally=tally(self._of(name)), left=sum(map(self.waits, self._of(name))))
            for name in names
        ]

    def _of(self, name: str) -> list[Standing]:
        return [s for s in self.standings.values() if s.person.class_name == name]

    def rows(
        self, class_name: str | None = None, search: str = "", *, added: bool = False, limit: int = 500
    ) -> Sequence[Standing]:
        wanted = search.casefold().strip()
        found = [
            s
            for s in self.standings.values()
            if (len(wanted) >= 2 or class_name is None or s.person.class_name == class_name)
            and (not added or s.person.added)
            and (
                len(wanted) < 2
                or s.person.given.casefold().startswith(wanted)
                or s.person.family.casefold().startswith(wanted)
            )
        ]
        found.sort(key=lambda s: (not self.waits(s), s.person.family, s.person.given))
        return found[:limit]

    def standing(self, child: str) -> Standing:
        """A whole walk counts although it is not closed yet, as in the fold."""
        if self.current is not None and self.current[0] == child and self.current[1].may_finish:
            return self._outcome(*self.current)
        return self.standings[child]

    def progress(self) -> Any:
        told, left = tally(self.standings.values()), sum(map(self.waits, self.standings.values()))
        seen = told.seen
        finish = self.clock() + timedelta(hours=4)
        return SimpleNamespace(
            tally=told,
            left=left,
            per_hour=74.0 if seen > 2 else None,
            finish_at=finish if seen > 2 else None,
        )

    def begin(self, child: str, *, again: str = "") -> ToneWalk:
        self._durable()
        walk = ToneWalk.begin(self.visit.protocol, grade=self.standing(child).person.grade)
        self.current = (child, walk)
        self.said.append(("begin", child, again))
        return walk

    def _take(self, walk: ToneWalk) -> ToneWalk:
        assert self.current is not None
        self.current = (self.current[0], walk)
        return walk

    def answer(self, heard: bool, presentations: int = 0) -> ToneWalk:
        assert self.current is not None
        self._durable()
        self.said.append(("answer", heard, presentations))
        return self._take(self.current[1].take(Action.HEARD if heard else Action.NO_RESPONSE))

    def reseat(self) -> ToneWalk:
        assert self.current is not None
        self._durable()
        return self._take(self.current[1].take(Action.RESEAT))

    def undo(self) -> ToneWalk:
        assert self.current is not None
        self._durable()
        return self._take(self.current[1].undo())

    def finish(self) -> Standing:
        assert self.current is not None
        self._durable()
        child, walk = self.current
        self.current = None
        return self._put(self._outcome(child, walk))

    def _outcome(self, child: str, walk: ToneWalk) -> Standing:
        standing = self.standings[child]
        screening = Screening(
            "1@c", "c", self.screener, "", self._now(), (), walk.reseated, walk.passed, walk.missed
        )
        passed = bool(walk.passed)
        day = self.clock().date()
        window = None if passed else ((day + timedelta(14)).isoformat(), (day + timedelta(42)).isoformat())
        return replace(
            standing,
            status=Status.PASSED if passed else Status.RESCREEN,
            since=self._now(),
            screenings=(*standing.screenings, screening),
            governing=screening,
            window=window,
        )

    def _now(self) -> str:
        return self.clock().isoformat(timespec="seconds")

    def stop(self, reason: Any = None, note: str = "") -> Standing:
        assert self.current is not None
        child = self.current[0]
        self.current = None
        self.said.append(("stop", reason, note))
        return self.standing(child) if reason is None else self.not_tested(child, reason, note)

    def not_tested(self, child: str, reason: Any, note: str = "") -> Standing:
        self._durable()
        return self._put(
            replace(self.standing(child), status=Status(reason.value), since=self._now(), note=note)
        )

    def look(self, child: str, signs: Sequence[str], ears: Sequence[str] = (), note: str = "") -> Any:
        if earphones_allowed(signs):
            self.observe(child, note)
            return True, self.standing(child)
        if self.current is not None and self.current[0] == child:
            self.current = None
        seen = replace(self.standings[child], signs=tuple(signs), ears=tuple(ears))
        self._put(seen)
        return False, self.not_tested(child, Reason.EAR_PROBLEM, note)

    def reasons_given(self, child: str) -> set[Reason]:
        status = self.standings[child].status
        return {Reason(status.value)} if status.value in set(Reason) else set()

    def take_back(self, child: str) -> Standing:
        return self._put(replace(self.standing(child), status=Status.NOT_SEEN))

    def observe(self, child: str, note: str) -> None:
        standing = self.standing(child)
        self._put(replace(standing, observations=(*standing.observations, note)))

    def walk_again(self) -> list[Standing]:
        return []

    def lookalikes(self, person: Person) -> list[Any]:
        return [
            SimpleNamespace(a="", b=s.child, reasons=("family names agree",))
            for s in self.standings.values()
            if s.person.family[:3].casefold() == person.family[:3].casefold()
        ]

    def add_child(self, person: Person, *, unlike: Sequence[str] = ()) -> str:
        self._durable()
        child = f"{len(self.standings) + 1}@c"
        self._put(Standing(child, (child,), person, Status.NOT_SEEN))
        return child

    def close(self) -> None:
        self.closed = True


def today() -> date:
    """The day of the fake clock."""
    return FakeClock().at.date()
