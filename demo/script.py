"""One tablet's script: the lines that ``quietbell play`` takes, written as a screener would act.

A line's ``at`` is when the action began; the clock then moves on by as long as such an action takes.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path
from random import Random
from typing import Any

from demo.children import SOUND_STATION, Hearer, StationFault, walk_answers
from demo.school import Pupil
from shared.hearing.protocol import Protocol

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
    lines: list[Line] = field(default_factory=list)

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
            listening={ear: list(self.protocol.frequencies) for ear in ("right", "left")},
            own_thresholds={
                ear: {str(hz): self.rng.choice((0, 5, 5, 10)) for hz in self.protocol.frequencies}
                for ear in ("right", "left")
            },
        )

    def screen(self, child: str, hearer: Hearer, grade: str) -> str:
        """Walk one child; its answers come from its ears through this station's earphones."""
        answers = walk_answers(
            hearer, self.protocol, self.rng, grade=grade, permitted=self.permitted, fault=self.fault
        )
        self.screen_as(child, answers)
        return answers

    def screen_as(self, child: str, answers: str, **more: Any) -> None:
        """Walk one child with these answers."""
        tones = len(answers) + 3 * answers.count("-")
        seconds = _SEATING + _TONE * tones + _RESEATING * answers.count("/") + self.rng.randrange(0, 15)
        self._write("screen", seconds, child=child, answers=answers, **more)

    def not_tested(self, reason: str, child: str, note: str = "") -> None:
        """Write why a child was not tested."""
        seconds = {"absent": 8, "declined": 8, "under-care": 12}.get(reason, 120)
        self._write(reason, seconds, child=child, **({"note": note} if note else {}))

    def add(self, ref: str, pupil: Pupil, **typed: str) -> None:
        """Add a child who is not on the roster, as the screener types it (``typed`` overrides)."""
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
        self.lines.append({"at": self.clock.isoformat(timespec="seconds"), "do": do, **fields})
        self.clock += timedelta(seconds=seconds)
