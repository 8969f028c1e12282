"""Follow-up: what the office still owes each child, by when, and the steps that were taken. No papers, no Kivy.

The waits below are common practice, no source; local rules come first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from fieldapp.services.ledger import Draft, Ledger
from fieldapp.services.roll import children_of, name_order
from shared.errors import Refused
from shared.hearing.followup import Timing, timing
from shared.records.entries import Entry, Kind
from shared.records.standing import Standing, Status

#: The steps of a follow-up in the order they usually come.
STEPS = ("sent", "reminded", "seen", "findings")
#: Why a case is closed (common practice, no source); "closed" is another reason, which its note says.
CLOSINGS = ("no-loss", "under-care", "moved", "declined", "lost", "closed")
#: The letter goes out within these days of the result; findings that are back are read within them.
LETTER_WITHIN = READ_WITHIN = timedelta(days=7)
#: The family is reminded when so many days have passed since the letter, or since the last reminder.
REMINDER_AFTER = timedelta(days=30)
#: The findings are asked for when so many days have passed since the child was seen.
FINDINGS_AFTER = timedelta(days=14)

_OPEN = (Status.RESCREEN, Status.THRESHOLD, Status.REFERRED, Status.EAR_PROBLEM, Status.COULD_NOT_TEST)
#: Someone else examines the child, and says what was found.
_SEEN_OUTSIDE = (Status.REFERRED, Status.EAR_PROBLEM)


class Owed(StrEnum):
    """What a child is owed next."""

    RESCREEN = "rescreen"
    THRESHOLD = "threshold-test"
    LETTER = "send-the-letter"
    REMINDER = "remind-the-family"
    FINDINGS = "ask-for-the-findings"
    CLOSING = "read-the-findings-and-close"


@dataclass(frozen=True, slots=True)
class OpenCase:
    """A child to whom something is owed: from ``due`` on (ISO) for tests, until then for what the office does."""

    standing: Standing
    owed: Owed
    due: str
    timing: Timing

    @property
    def overdue(self) -> bool:
        """Whether its last day has passed."""
        return self.timing is Timing.OVERDUE


class FollowUp:
    """The follow-up of one visit book."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    def open_cases(self) -> list[OpenCase]:
        """Every child to whom something is still owed, the overdue first, then by the day it is due."""
        today = self._ledger.clock.now().date()
        cases = [
            case_of(standing, today)
            for standing in children_of(self._ledger.register)
            if standing.status in _OPEN
        ]
        return sorted(cases, key=lambda c: (not c.overdue, c.due, *name_order(c.standing)))

    def closed_cases(self) -> list[Standing]:
        """Every child whose follow-up was closed, the newest first."""
        closed = (each for each in children_of(self._ledger.register) if each.status is Status.CLOSED)
        return sorted(closed, key=lambda each: each.since, reverse=True)

    def note_step(
        self, children: Iterable[str], step: str, *, note: str = "", day: date | None = None
    ) -> None:
        """Note a step of the follow-up, or why it is closed, for one child or many.

        Raises ``Refused`` for an unknown step, and for a closing whose reason is nowhere said.
        """
        if step not in (*STEPS, *CLOSINGS):
            known = ", ".join((*STEPS, *CLOSINGS))
            raise Refused("There is no such step of a follow-up.", todo=f"Choose one of: {known}.")
        if step == "closed" and not note.strip():
            raise Refused("The reason for closing is missing.", todo="Say why the case is closed.")
        when = (day or self._ledger.clock.now().date()).isoformat()
        body = {"step": step, "note": note.strip(), "day": when}
        drafts: list[Draft] = [
            (Kind.FOLLOWUP_NOTED, {**body, "child": child, **self._in_sight(child, step)})
            for child in children
        ]
        if not drafts:
            raise Refused("No child is chosen.", todo="Choose at least one child.")
        self._ledger.write(*drafts)

    def _in_sight(self, child: str, step: str) -> dict[str, list[str]]:
        """What a closing was decided on: a result that comes later, or another record's, opens the case again."""
        return {"found": list(self._ledger.register.standing(child).found)} if step in CLOSINGS else {}

    def last_step(self, child: str) -> Entry | None:
        """The newest step of a child's follow-up that stands, or None."""
        about = self._ledger.register.about(child)
        stands = self._ledger.register.stands
        steps = (each for each in reversed(about) if each.kind is Kind.FOLLOWUP_NOTED and stands(each.id))
        return next(steps, None)

    def take_step_back(self, child: str) -> None:
        """Undo the newest step of a child's follow-up; raises ``Refused`` where there is none."""
        last = self.last_step(child)
        if last is None:
            raise Refused("There is no step to take back.", kept="Nothing was changed.")
        self._ledger.write((Kind.DECISION_WITHDRAWN, {"decision": last.id, "child": last.child}))


def fitting_steps(standing: Standing) -> tuple[str, ...]:
    """The steps that fit where a child stands: nobody sends findings back of a child who waits for a rescreen."""
    if standing.status not in _OPEN:
        return ()
    sent = any(each.step == "sent" for each in standing.followups)
    return (
        "sent",
        *(("reminded",) if sent else ()),
        *(("seen", "findings") if standing.status in _SEEN_OUTSIDE else ()),
    )


def case_of(standing: Standing, today: date) -> OpenCase:
    """What an open case is owed next, and how that lies against ``today``."""
    if standing.status in (Status.RESCREEN, Status.THRESHOLD):
        from_day, to_day = standing.window or (standing.since[:10], "")
        first = date.fromisoformat(from_day)
        last = date.fromisoformat(to_day) if to_day else date.max
        owed = Owed.RESCREEN if standing.status is Status.RESCREEN else Owed.THRESHOLD
        return OpenCase(standing, owed, first.isoformat(), timing((first, last), today))
    done = {followup.step: followup.day for followup in standing.followups}
    if "findings" in done:
        return _by(standing, Owed.CLOSING, done["findings"], READ_WITHIN, today)
    if "seen" in done:
        return _by(standing, Owed.FINDINGS, done["seen"], FINDINGS_AFTER, today)
    if "sent" in done or "reminded" in done:
        last_word = max(done.get("sent", ""), done.get("reminded", ""))
        return _by(standing, Owed.REMINDER, last_word, REMINDER_AFTER, today)
    return _by(standing, Owed.LETTER, standing.since[:10], LETTER_WITHIN, today)


def _by(standing: Standing, owed: Owed, since: str, wait: timedelta, today: date) -> OpenCase:
    """Something of the office's own: due from now on, overdue when the wait since that day is over."""
    last = date.fromisoformat(since) + wait
    return OpenCase(standing, owed, last.isoformat(), timing((date.min, last), today))
