"""The readiness of one tablet's station: checks recorded, whether it may test, and what closes it again. No Kivy.

How a check is judged is ``shared.hearing.readiness``'s; here is only what is written, read and carried over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldapp.services.ledger import Ledger
from fieldapp.services.watching import Watching
from shared.errors import Refused
from shared.hearing.readiness import Pairing, ReadinessFacts, ReadinessResult, StepState, check
from shared.hearing.readiness_repeat import FACTS_OF, asked_steps, without
from shared.hearing.readiness_validity import StationFor, why_expired
from shared.records.entries import Entry, Kind


@dataclass(frozen=True, slots=True)
class ReadyState:
    """Whether the station may test: since when and at which level (dB HL), or why not."""

    open: bool
    since: str = ""
    level_db_hl: int | None = None
    why_closed: str = ""
    drop: tuple[int, ...] = ()  # frequencies (Hz) that the room's noise rules out today
    asked: str = ""  # what the station watch asks to be checked before the next child
    missed: int = 0  # how many children missed what it asks about,
    walked: int = 0  # of how many who were walked since that most likely began
    faults: tuple[str, ...] = ()  # what the last check found, where it did not pass


@dataclass(frozen=True, slots=True)
class ShortCheck:
    """The short way of a check: ``steps`` are done again, ``facts`` carried over from a passed one."""

    steps: tuple[str, ...]
    facts: Mapping[str, Any]
    passed_check: str  # entry id
    passed_at: str


class Readying:
    """The readiness checks of this device."""

    def __init__(self, ledger: Ledger, watching: Watching) -> None:
        self._ledger = ledger
        self._watching = watching

    def _last_check(self) -> Entry | None:
        return self._ledger.register.newest_of(self._ledger.device, Kind.READINESS_CHECKED)

    @property
    def ready(self) -> ReadyState:
        """Whether the station may test now."""
        if not self._ledger.author:
            return ReadyState(False, why_closed="Nobody is signed in.")
        last, asked = self._last_check(), self._watching.asked
        if last is None:
            return ReadyState(False, why_closed="The readiness check has not been done.")
        passed = bool(last.body.get("passed"))
        why = self._why_expired(last, watch=asked) if passed else "The last readiness check did not pass."
        if why:
            missed, walked = self._watching.counted
            faults = () if passed else self._faults(last)
            return ReadyState(False, why_closed=why, asked=asked, missed=missed, walked=walked, faults=faults)
        drop = tuple(map(int, last.body.get("drop", ())))
        return ReadyState(True, last.at, int(last.body["level_db_hl"]), drop=drop)

    def _faults(self, failed: Entry) -> tuple[str, ...]:
        """What a check found against the station, in words; what was only left open is no fault."""
        steps = self._judged(ReadinessFacts.from_dict(failed.body)).steps
        return tuple(why for step in steps if step.state is StepState.FAILED for why in step.reasons)

    def must_be_signed_in(self) -> None:
        """Raise ``Refused`` where no screener is signed in."""
        if not self._ledger.author:
            raise Refused("Nobody is signed in.", todo="Type your initials first.")

    def must_be_open(self) -> None:
        """Raise ``Refused``, with what closed it, where the station may not test now."""
        ready = self.ready
        if not ready.open:
            raise Refused(
                f"The station is not ready to test. {ready.why_closed}", todo="Do the readiness check first."
            )

    def _why_expired(self, passed: Entry, *, watch: str = "") -> str:
        then = StationFor(date.fromisoformat(passed.at[:10]), passed.author, **_place(passed.body))
        place = _place(self._ledger.about.get("changed_to", {}))
        return why_expired(
            then, StationFor(self._ledger.clock.now().date(), self._ledger.author, **place), watch=watch
        )

    @property
    def short_check(self) -> ShortCheck | None:
        """What has to be done again where the station watch alone has closed the station; None where all must be.

        What failed since the last passed check is done again too.
        """
        raised, passed = self._watching.raised, self._watching.last_passed
        if raised is None or passed is None or self._why_expired(passed):
            return None
        steps = {*asked_steps(str(raised.body.get("suspect", ""))), *self._not_done_since(passed)}
        if "equipment" in steps:  # another instrument: nothing that was found with the old one holds
            return None
        facts = without(ReadinessFacts.from_dict(passed.body), steps)
        ordered = tuple(step for step in FACTS_OF if step in steps)
        return ShortCheck(ordered, facts.to_dict(), passed.id, passed.at)

    def _not_done_since(self, passed: Entry) -> set[str]:
        checks = self._ledger.register.entries(Kind.READINESS_CHECKED)
        own = [e for e in checks if e.device == self._ledger.device and e.counter > passed.counter]
        reports = [
            report for entry in own for report in self._judged(ReadinessFacts.from_dict(entry.body)).steps
        ]
        return {report.key for report in reports if report.state in (StepState.OPEN, StepState.FAILED)}

    def change_place(self, *, room: str = "", audiometer: str = "", earphones: str = "") -> ReadyState:
        """The station moved to another room or got other equipment: closed until a new check passes."""
        wanted = {"room": room.strip(), "audiometer": audiometer.strip(), "earphones": earphones.strip()}
        self._ledger.tell(changed_to={name: value for name, value in wanted.items() if value})
        return self.ready

    def _judged(self, facts: ReadinessFacts) -> ReadinessResult:
        today = self._ledger.clock.now().date()
        return check(facts, self._ledger.register.protocol, today, pairs=self._known_pairs())

    def check(self, facts: Mapping[str, Any], *, carry_over: bool = False) -> ReadinessResult:
        """Record a readiness check and say whether it passed; a failed one closes the station.

        ``carry_over``: the short way after the station watch; ``facts`` are those of the steps done again.
        Raises ``Refused`` where the short way is not open.
        """
        short = self.short_check if carry_over else None
        if carry_over and short is None:
            raise Refused(
                "There is no passed readiness check to carry anything over from.",
                todo="Do the whole readiness check.",
            )
        read = ReadinessFacts.from_dict({**short.facts, **facts} if short else facts)
        result = self._judged(read)
        body = {
            **read.to_dict(),
            "passed": result.passed,
            "level_db_hl": result.level_db_hl,
            "drop": list(result.drop),
            "rule": result.rule,
            "reasons": list(result.reasons),
            "warnings": list(result.warnings),
        }
        if short is not None:
            body |= {"repeated": list(short.steps), "carried_over_from": short.passed_check}
        self._ledger.write((Kind.READINESS_CHECKED, body))
        if self._ledger.about.get("changed_to"):
            self._ledger.tell(changed_to={})
        return result

    def _known_pairs(self) -> list[Pairing]:
        """Which earphones belong to which audiometer, from every passed check that this tablet knows of."""
        checks = self._ledger.register.entries(Kind.READINESS_CHECKED)
        facts = [ReadinessFacts.from_dict(entry.body) for entry in checks if entry.body.get("passed")]
        return [Pairing(each.audiometer, each.earphones, each.calibrated) for each in facts]


def _place(body: Mapping[str, Any]) -> dict[str, str]:
    return {name: str(body.get(name, "")) for name in ("audiometer", "earphones", "room")}
