"""Follow-up: whom the office still owes something, and the steps that have been taken. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.translation import Translator
from fieldapp.services.followup import CLOSINGS, OpenCase, Owed, fitting_steps
from shared.records.standing import ExaminationNoted, Standing, Status

LIMIT = 500
ALL = ""
CLOSED = Status.CLOSED.value


class FollowupPresenter(Presenter):
    """``status`` narrows the list to one kind; ``back`` is where the way to a child's audiogram comes back to."""

    back: tuple[str, dict[str, Any]] = ("followup", {})

    def enter(self) -> None:
        self.status = ALL

    def kinds(self) -> list[tuple[str, str, str, bool]]:
        """(status, word, count, chosen)."""
        t, cases = self.t, self.session.desk.followup.open_cases()
        found = [(ALL, t("followup.open"), str(len(cases)), self.status == ALL)]
        for status in Status:
            count = sum(case.standing.status is status for case in cases)
            if count:
                word = phrases.sign(status) + t(f"status.{status.value}")
                found.append((status.value, word, str(count), self.status == status.value))
        closed = len(self.session.desk.followup.closed_cases())
        if closed:
            word = phrases.sign(Status.CLOSED) + t("followup.closed")
            found.append((CLOSED, word, str(closed), self.status == CLOSED))
        return found

    def choose(self, status: str) -> None:
        """Show one kind."""
        self.status = status
        self.changed()

    def rows(self) -> list[dict[str, Any]]:
        """The open cases as rows of the list."""
        t = self.t
        if self.status == CLOSED:
            closed = self.session.desk.followup.closed_cases()
            return [self._row(each, "closed_on", each.since, closing_why(t, each)) for each in closed[:LIMIT]]
        rows = []
        for case in self.session.desk.followup.open_cases():
            standing = case.standing
            if self.status not in (ALL, standing.status.value):
                continue
            rows.append(self._row(standing, "due", case.due, self._owed(case)))
        return rows[:LIMIT]

    def _owed(self, case: OpenCase) -> str:
        """What is owed, and how urgent it is."""
        t = self.t
        if case.overdue:
            return f"! {t(f'followup.owed_{case.owed}')} · {t('followup.overdue')}"
        if case.owed in (Owed.RESCREEN, Owed.THRESHOLD):
            return t(f"followup.owed_{case.owed}_{case.timing}")
        return t(f"followup.owed_{case.owed}")

    def _row(self, standing: Standing, what: str, day: str, step: str) -> dict[str, Any]:
        """A row: the child, the day that matters with ``what`` it is the day of, and the step in words."""
        said = phrases.near_date(self.t, day, self.session.clock().date())
        when = self.t(f"followup.{what}", day=said) if said else ""
        class_name = standing.person.class_name
        return {
            "child": standing.child,
            "name": phrases.name_listed(standing.person),
            "born": f"{class_name} · {when}" if when else class_name,
            "status": step,
            "waiting": False,
        }

    def open(self, child: str) -> None:
        """Ask which step was taken: only those that fit where the child stands, to close, or to undo the last."""
        t, desk = self.t, self.session.desk
        standing = desk.ledger.register.standing(child)
        words = "\n".join([phrases.status_line(t, standing), *steps_done(t, standing)])
        ways: list[tuple[str, str, Callable[..., None]]] = [
            (t(f"followup.step_{step}"), "quiet", lambda step=step: self._note(child, step))
            for step in fitting_steps(standing)
        ]
        if ways:
            ways.append((t("followup.close"), "quiet", lambda: self._ask_why(child)))
        ways += [
            (
                t("findings.of_day", day=_examined(t, each)),
                "quiet",
                lambda noted=each.id: self._findings(child, noted),
            )
            for each in standing.examinations
        ]
        if (newest := desk.followup.last_step(child)) is not None:
            last = step_words(t, str(newest.body["step"]))
            ways.append((t("followup.undo", step=last), "quiet", lambda: self._undo(child)))
        self.session.ask(
            phrases.name_said(standing.person), words, [*ways, (t("sheet.back"), "back", lambda: None)]
        )

    def _ask_why(self, child: str) -> None:
        """A case is closed for a reason."""
        t, standing = self.t, self.session.desk.ledger.register.standing(child)
        ways = [
            (t(f"followup.why_{why}"), "quiet", lambda why=why: self._close(child, why)) for why in CLOSINGS
        ]
        self.session.ask(
            t("followup.close_title", name=phrases.name_said(standing.person)),
            t("followup.close_words"),
            [*ways, (t("sheet.back"), "back", lambda: None)],
        )

    def _close(self, child: str, why: str) -> None:
        if why == "closed":
            self.session.ask_text(
                self.t("followup.why_closed"),
                self.t("followup.why_label"),
                self.t("followup.close_now"),
                lambda words: self._write(child, why, words),
            )
            return
        self._write(child, why, "")

    def _undo(self, child: str) -> None:
        if self.guarded(lambda: self.session.desk.followup.take_step_back(child)):
            self.changed()

    def _note(self, child: str, step: str) -> None:
        if step == "findings":
            self._ask_how(child)
            return
        self._write(child, step, "")

    def _ask_how(self, child: str) -> None:
        """Findings come back as thresholds, or as words only."""
        t = self.t
        self.session.ask(
            t("followup.step_findings"),
            t("findings.how"),
            [
                (t("findings.enter"), "quiet", lambda: self._findings(child)),
                (t("findings.words_only"), "quiet", lambda: self._ask_words(child)),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def _ask_words(self, child: str) -> None:
        self.session.ask_text(
            self.t("followup.step_findings"),
            self.t("followup.findings_label"),
            self.t("note.keep"),
            lambda words: self._write(child, "findings", words),
        )

    def _findings(self, child: str, noted: str = "") -> None:
        self.session.go("findings", child=child, noted=noted, back=self.back)

    def _write(self, child: str, step: str, note: str) -> None:
        followup = self.session.desk.followup
        if self.guarded(lambda: followup.note_step([child], step, note=note)):
            self.changed()


def _examined(t: Translator, noted: ExaminationNoted) -> str:
    return phrases.short_date(t, noted.examination.examined.isoformat())


def step_words(t: Translator, step: str) -> str:
    """A step or a closing of a follow-up in words; one of a newer Quietbell as it was written."""
    for key in (f"followup.step_{step}", f"followup.why_{step}"):
        if t.has(key):
            return t(key)
    return step


def closing_why(t: Translator, standing: Standing) -> str:
    """Why a closed case was closed, in words; empty where no reason was given."""
    if standing.why == "closed" and standing.followups:
        return standing.followups[-1].note
    return step_words(t, standing.why).lower()


def steps_done(t: Translator, standing: Standing) -> list[str]:
    """Every step that was taken, with its day and its note."""
    return [
        f"{phrases.short_date(t, each.day)}: {step_words(t, each.step)}"
        + (f" ({each.note})" if each.note else "")
        for each in standing.followups
    ]
