"""Scripted actions through the same station as the screens: what ``quietbell play`` runs.

One JSON object a line; ``do`` says what, ``at`` when (local time with offset; missing: one minute after the
line before). A line that the rules refuse stops the run; everything before it is kept.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from fieldapp.platform.clock import ScriptClock
from fieldapp.services.station import Station
from shared.errors import QuietbellError, Refused
from shared.hearing.threshold import parse_steps
from shared.records.entries import EARS, Reason
from shared.records.people import person_fields
from shared.records.standing import Person


class LineRefused(Refused):
    """A script line that was refused, with its number (from 1) and the reason."""

    def __init__(self, line: int, why: QuietbellError) -> None:
        self.line = line
        kept = f"The {line - 1} lines before it are kept." if line != 2 else "The line before it is kept."
        super().__init__(f"Line {line}: {why.happened}", kept=kept, todo=why.todo)
        self.exit_status = why.exit_status if not isinstance(why, Refused) else Refused.exit_status


@dataclass(slots=True)
class Played:
    """How much of a script was run."""

    lines: int = 0
    screened: int = 0


class Player:
    """Plays script lines on a station whose clock is ``clock``."""

    def __init__(self, station: Station, clock: ScriptClock) -> None:
        self.station = station
        self.clock = clock
        self.played = Played()
        self._added: dict[str, str] = {}
        self._first = True

    def play(self, lines: Iterable[str], progress: Callable[[int], None] | None = None) -> Played:
        """Play every line; raises ``LineRefused`` at the first that is refused."""
        for number, text in enumerate(lines, 1):
            if text.strip():
                try:
                    self._play_line(text)
                except QuietbellError as why:
                    raise LineRefused(number, why) from None
                self.played.lines += 1
            if progress is not None:
                progress(number)
        self._close_threshold_test()
        return self.played

    def _play_line(self, text: str) -> None:
        try:
            line = json.loads(text)
        except (ValueError, RecursionError):
            raise Refused("This is not a JSON object.", todo="Correct the line.") from None
        if not isinstance(line, dict):
            raise Refused("This is not a JSON object.", todo="Correct the line.")
        moment = self._moment(line)
        action = _ACTIONS.get(str(line.get("do")))
        if action is None:
            raise Refused("There is no such thing to do.", todo=f"Use one of: {', '.join(_ACTIONS)}.")
        before = self.clock.now()
        self.clock.set(moment)
        try:
            if action is not Player.threshold or not self._is_in_test(line):
                self._close_threshold_test()
            action(self, line)
        except QuietbellError:
            self.clock.set(before)
            raise
        self._first = False

    def _moment(self, line: Mapping[str, Any]) -> datetime:
        if "at" not in line:
            return self.clock.now() + timedelta(minutes=0 if self._first else 1)
        try:
            moment = datetime.fromisoformat(str(line["at"]))
        except ValueError:
            raise Refused(
                "The time in 'at' is not a date and time.", todo="Write 2026-10-14T08:30:00-05:00."
            ) from None
        return moment if moment.tzinfo is not None else moment.astimezone()

    def _child(self, line: Mapping[str, Any]) -> str:
        return self._child_named(_text(line, "child"), "child")

    def _child_named(self, named: str, field: str) -> str:
        found = self._added.get(named) or self.station.find(named)
        if found is None:
            raise Refused("The list has no child of that student number or ref.", todo=f"Correct '{field}'.")
        return found

    # -- what a line can do ----------------------------------------------------------------------

    def sign_in(self, line: Mapping[str, Any]) -> None:
        """The screener signs in."""
        self.station.sign_in(_text(line, "screener"))

    def ready(self, line: Mapping[str, Any]) -> None:
        """A readiness check, all at once; one that fails is recorded and closes the station.

        ``carry_over``: only what the station watch asked for is given, the rest is as it was found before.
        """
        facts = {name: value for name, value in line.items() if name not in ("do", "at", "carry_over")}
        self.station.check_readiness(facts, carry_over=bool(line.get("carry_over")))

    def changed(self, line: Mapping[str, Any]) -> None:
        """The station got another room, audiometer or earphones: it is closed until a new check passes."""
        named = {name: str(line[name]) for name in ("room", "audiometer", "earphones") if line.get(name)}
        self.station.change_place(**named)

    def screen(self, line: Mapping[str, Any]) -> None:
        """A whole tone walk; ``again`` says why a child with a result is walked once more."""
        child = self._child(line)
        self.station.walk_script(child, _text(line, "answers"), again=str(line.get("again", "")))
        self.played.screened += 1

    def add(self, line: Mapping[str, Any]) -> None:
        """A child that the list lacks; later lines name it by ``ref``. ``unlike``: look-alikes that it is not."""
        reference = _text(line, "ref")
        if reference in self._added or self.station.find(reference):
            raise Refused("This 'ref' is taken already.", todo="Choose another 'ref'.")
        values = person_fields(
            {name: value for name, value in line.items() if name not in ("do", "at", "ref")}
        )
        person = Person(given=values.pop("given", ""), family=values.pop("family", ""), **values)
        unlike = [self._child_named(each, "unlike") for each in _texts(line, "unlike")]
        self._added[reference] = self.station.add_child(person, unlike=unlike)

    def not_tested(self, line: Mapping[str, Any]) -> None:
        """A reason why a child is not tested; the ``signs`` and ``ears`` of an ear problem are judged by the rule."""
        if line["do"] == Reason.EAR_PROBLEM and "signs" in line:
            signs, ears = _texts(line, "signs"), _texts(line, "ears")
            self.station.look(self._child(line), signs, ears, str(line.get("note", "")))
            return
        self.station.not_tested(self._child(line), Reason(line["do"]), str(line.get("note", "")))

    def threshold(self, line: Mapping[str, Any]) -> None:
        """One tone of a threshold test; lines for one child in a row are one test."""
        child = self._child(line)
        ear, hz = _text(line, "ear"), line.get("hz")
        if ear not in EARS or not isinstance(hz, int):
            raise Refused("'ear' is right or left, 'hz' a frequency in Hz.", todo="Correct the line.")
        steps = parse_steps(_text(line, "steps"))
        self.station.thresholds.check_script(ear, hz, steps)
        if self.station.thresholds.current is None:
            self.station.begin_threshold_test(child)
        self.station.thresholds.tone_script(ear, hz, steps)

    def _is_in_test(self, line: Mapping[str, Any]) -> bool:
        current = self.station.thresholds.current
        return current is not None and self._child(line) in self.station.standing(current.child).records

    def _close_threshold_test(self) -> None:
        if self.station.thresholds.current is not None:
            self.station.thresholds.finish()


def _text(line: Mapping[str, Any], name: str) -> str:
    value = line.get(name)
    if not isinstance(value, str) or not value.strip():
        raise Refused(f"'{name}' is missing.", todo=f"Give '{name}' as text.")
    return value.strip()


def _texts(line: Mapping[str, Any], name: str) -> list[str]:
    value = line.get(name, [])
    if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
        raise Refused(f"'{name}' is not a list of texts.", todo=f"Give '{name}' as a list.")
    return value


_ACTIONS: dict[str, Callable[[Player, Mapping[str, Any]], None]] = {
    "sign-in": Player.sign_in,
    "ready": Player.ready,
    "changed": Player.changed,
    "screen": Player.screen,
    "add": Player.add,
    "threshold": Player.threshold,
    **{reason.value: Player.not_tested for reason in Reason},
}
