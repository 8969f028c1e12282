"""Builds small histories of several devices by hand, entry by entry."""

from __future__ import annotations

from datetime import datetime, timedelta, timezone

import pytest

from shared.hearing.protocol import Protocol
from shared.hearing.tone_walk import Action, ToneWalk
from shared.records.entries import Entry, Kind
from shared.records.scribe import Scribe

PROTOCOL = Protocol.from_dict(
    {
        "name": "three-tones",
        "title": "Three tones at 20",
        "frequencies": [1000, 2000, 4000],
        "levels": [{"grades": [], "by_hz": {"1000": 20, "2000": 20, "4000": 20}}],
        "rescreen_days": [14, 42],
    }
)
MORNING = datetime(2026, 10, 14, 8, 0, tzinfo=timezone(timedelta(hours=-5)))


class Device:
    """One device: a scribe, a clock that ticks a minute an entry, and everything it wrote."""

    def __init__(self, name: str, start: datetime = MORNING) -> None:
        self.scribe = Scribe(name, "v")
        self.now = start
        self.written: list[Entry] = []

    def write(self, kind: Kind, **body: object) -> Entry:
        self.now += timedelta(minutes=1)
        body = {name: value for name, value in body.items() if value is not None}
        entry = self.scribe.write(kind, body, author="MK", now=self.now)
        self.written.append(entry)
        return entry

    def hears_of(self, *others: Device) -> None:
        for other in others:
            for entry in other.written:
                self.scribe.notice(entry)

    def prepare(self) -> Entry:
        return self.write(Kind.VISIT_PREPARED, school="x", protocol=PROTOCOL.to_dict(), dates=["2026-10-14"])

    def lists(self, given: str = "Ada", family: str = "Alder", **more: object) -> str:
        return self.write(Kind.CHILD_LISTED, given=given, family=family, **more).id

    def adds(self, given: str = "Ada", family: str = "Alder", **more: object) -> str:
        return self.write(Kind.CHILD_ADDED, given=given, family=family, **more).id

    def screens(self, child: str, answers: str = "++++++", **more: object) -> str:
        begun = self.write(Kind.SCREENING_BEGUN, child=child, level_db_hl=20, grade="", **more)
        walk = ToneWalk.begin(PROTOCOL)
        for sign in answers:
            step, walk = walk.step, walk.take(Action(sign))
            if sign == Action.RESEAT:
                self.write(Kind.EARPHONES_RESEATED, child=child, screening=begun.id)
            else:
                assert step is not None
                self.write(
                    Kind.TONE_ANSWERED,
                    child=child,
                    screening=begun.id,
                    ear=step.ear,
                    hz=step.hz,
                    level_db_hl=step.level_db_hl,
                    heard=sign == Action.HEARD,
                )
        if walk.may_finish:
            self.write(Kind.SCREENING_FINISHED, child=child, screening=begun.id)
        return begun.id


@pytest.fixture
def device():
    """Makes devices by name."""
    return Device
