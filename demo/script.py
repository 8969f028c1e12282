"""One tablet's script: the lines that ``quietbell play`` takes, written as a screener would act.

A line's ``at`` is when the action began; the clock then moves on by as long as such an action takes. The
screener heeds the station watch, which lets nobody begin until the check has been repeated: where the station is
fine that is one pass of what was asked about; where it is at fault the check fails, the spare equipment is checked
whole, and those who were missed by the faulty station are walked again.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from demo.children import SOUND_STATION, Hearer, StationFault, threshold_lines, walk_answers
from demo.school import Pupil
from shared.hearing.protocol import Protocol
from shared.hearing.readiness_repeat import asked_steps
from shared.hearing.station_watch import Alarm, FirstWalk, StationWatch
from shared.records.entries import EARS

Line = dict[str, Any]

# Seconds, common practice: what it takes to seat a child and explain, and to give one tone.
_SEATING, _TONE, _RESEATING = 22, 4, 18


@dataclass(slots=True)
class TabletScript:
    """The script of one tablet on one day, growing line by line."""

    tablet: str
    clock: datetime  # with offset; when the next action begins
    protocol: Protocol
    rng: Random
    audiometer: str
    earphones: str
    calibrated: date
    permitted: int = 20
    fault: StationFault = SOUND_STATION
    fault_after: tuple[int, StationFault] | None = None  # children walked until it comes, and what it is
    clock_wrong: timedelta = timedelta(0)  # how far the tablet's clock is ahead
    lines: list[Line] = field(default_factory=list)
    added_again: dict[str, str] = field(default_factory=dict)  # ref -> number, of children listed elsewhere
    walked: dict[str, tuple[Hearer, str]] = field(default_factory=dict)  # child -> ears and grade
    missed: set[str] = field(default_factory=set)  # children who are known to have missed a tone
    alarms: list[Alarm] = field(default_factory=list)
    _watch: StationWatch | None = None

    def set_clock_wrong(self, ahead: timedelta) -> None:
        """Let the tablet's clock be wrong from its first line on."""
        self.clock_wrong = ahead
        for line in self.lines:
            line["at"] = (datetime.fromisoformat(line["at"]) + ahead).isoformat(timespec="seconds")

    def sign_in(self, screener: str) -> None:
        """The screener's initials."""
        self._write("sign-in", 60, screener=screener)

    def ready(self) -> None:
        """A readiness check that passes: the station's facts, and a screener who hears well in this room."""
        self._write(
            "ready",
            360,
            audiometer=self.audiometer,
            earphones=self.earphones,
            calibrated=self.calibrated.isoformat(),
            listening={ear: list(self.protocol.frequencies) for ear in EARS},
            own_thresholds=self._own_thresholds(),
        )
        self._watch = StationWatch.begin(self.protocol.steps())

    def ready_again(self, alarm: Alarm) -> None:
        """The short way after an alarm: what it asks about is done again and found in order."""
        found: dict[str, Any] = {}
        if "listening" in asked_steps(alarm.suspect):
            found["listening"] = {ear: list(self.protocol.frequencies) for ear in EARS}
        if "level" in asked_steps(alarm.suspect):
            found["own_thresholds"] = self._own_thresholds()
        self._write("ready", 60 * len(found), carry_over=True, **found)
        self._watch = StationWatch.begin(self.protocol.steps())

    def not_ready(self, alarm: Alarm) -> None:
        """The short way finds the fault: the suspect tones are not clean, so the check does not pass."""
        tones = list(self.protocol.frequencies)
        spoilt = {ear: [alarm.hz] if alarm.hz else tones for ear in EARS if alarm.ear in (ear, "")}
        clean = {ear: [hz for hz in tones if hz not in spoilt.get(ear, ())] for ear in EARS}
        self._write("ready", 60, carry_over=True, listening=clean, not_clean=spoilt)

    def _own_thresholds(self) -> dict[str, dict[str, int]]:
        tones = self.protocol.frequencies
        return {ear: {str(hz): self.rng.choice((0, 5, 5, 10)) for hz in tones} for ear in EARS}

    def screen(self, child: str, hearer: Hearer, grade: str) -> str:
        """Walk one child; its answers come from its ears through this station's earphones."""
        if self.fault_after is not None and len(self.walked) >= self.fault_after[0]:
            self.fault, self.fault_after = self.fault_after[1], None
        self.walked[child] = (hearer, grade)
        answers = self._answers(hearer, grade)
        self.screen_as(child, answers)
        return answers

    def _answers(self, hearer: Hearer, grade: str) -> str:
        return walk_answers(
            hearer, self.protocol, self.rng, grade=grade, permitted=self.permitted, fault=self.fault
        )

    def _heed_the_watch(self) -> None:
        alarm = self._watch.alarm if self._watch else None
        if alarm is None:
            return
        self.alarms.append(alarm)
        if self.fault is SOUND_STATION:
            self.ready_again(alarm)
            return
        self.not_ready(alarm)
        self.fault = SOUND_STATION
        self.audiometer, self.earphones = f"{self.audiometer}-spare", f"{self.earphones}-spare"
        self.ready()
        for missed in alarm.missed:
            hearer, grade = self.walked[missed]
            again = "the left earphone failed the listening check"
            self.screen_as(missed, self._answers(hearer.reseated(), grade), again=again)

    def screen_as(self, child: str, answers: str, **more: Any) -> None:
        """Walk one child with these answers."""
        tones = len(answers) + 3 * answers.count("-")
        seconds = _SEATING + _TONE * tones + _RESEATING * answers.count("/") + self.rng.randrange(0, 15)
        self._write("screen", seconds, child=child, answers=answers, **more)
        first = answers.partition("/")[0]
        heard = {tone: sign == "+" for tone, sign in zip(self.protocol.steps(), first, strict=False)}
        assert self._watch is not None, "nobody is walked before the readiness check"
        self._watch = self._watch.take(FirstWalk(child, heard, child in self.missed))
        if "-" in answers.rpartition("/")[2]:
            self.missed.add(child)
        self._heed_the_watch()

    def not_tested(self, reason: str, child: str, note: str = "", **seen: list[str]) -> None:
        """Write why a child was not tested; ``seen``: the signs of an ear problem and the ears that show them."""
        seconds = {"absent": 8, "declined": 8, "under-care": 12}.get(reason, 120)
        self._write(reason, seconds, child=child, **({"note": note} if note else {}), **seen)

    def threshold(self, child: str, hearer: Hearer) -> None:
        """A whole threshold test, tone by tone in the order that the protocol asks for."""
        for ear, hz, steps in threshold_lines(hearer, self.protocol, self.rng):
            self._write("threshold", 8 * len(steps.split()) + 15, child=child, ear=ear, hz=hz, steps=steps)

    def add(self, ref: str, pupil: Pupil, **typed: str) -> None:
        """Add a child who is not on the list, as the screener types it (``typed`` overrides)."""
        facts = {
            "given": pupil.given,
            "family": pupil.family,
            "born": pupil.born.isoformat(),
            "grade": pupil.grade,
            "class": pupil.class_name,
        }
        self._write("add", 45, ref=ref, **{**facts, **typed})

    def pause(self, minutes: float) -> None:
        """A break, or the wait for the next class."""
        self.clock += timedelta(minutes=minutes)

    def save(self, folder: Path) -> Path:
        """Write the lines as JSONL into ``folder``; gives the file back."""
        path = folder / f"tablet-{self.tablet}.jsonl"
        path.write_text("".join(json.dumps(line, ensure_ascii=False) + "\n" for line in self.lines), "utf-8")
        return path

    def _write(self, do: str, seconds: float, **fields: Any) -> None:
        shown = (self.clock + self.clock_wrong).isoformat(timespec="seconds")
        self.lines.append({"at": shown, "do": do, **fields})
        self.clock += timedelta(seconds=seconds)
