"""Follow-up: whom the office still owes something, and the steps that have been taken. No Kivy."""

from __future__ import annotations

from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.services.office import STEPS
from shared.records.standing import Status

LIMIT = 500
ALL = ""


class FollowupPresenter(Presenter):
    """``status`` narrows the list to one kind."""

    def enter(self) -> None:
        self.status = ALL

    def kinds(self) -> list[tuple[str, str, str, bool]]:
        """(status, word, count, chosen)."""
        t, cases = self.t, self.session.desk.office.open_cases()
        found = [(ALL, t("next_child.all"), str(len(cases)), self.status == ALL)]
        for status in Status:
            count = sum(case.standing.status is status for case in cases)
            if count:
                word = phrases.sign(status) + t(f"status.{status.value}")
                found.append((status.value, word, str(count), self.status == status.value))
        return found

    def choose(self, status: str) -> None:
        """Show one kind."""
        self.status = status
        self.changed()

    def rows(self) -> list[dict[str, Any]]:
        """The open cases as rows of the list."""
        t = self.t
        rows = []
        for case in self.session.desk.office.open_cases():
            standing = case.standing
            if self.status not in (ALL, standing.status.value):
                continue
            due = phrases.short_date(t, case.due)
            key = "followup.next_" + case.next_step.replace(": ", "_").replace(" ", "-")
            step = t(key) if t.has(key) else case.next_step
            if case.overdue:
                step = f"! {step} · {t('followup.overdue')}"
            rows.append(
                {
                    "child": standing.child,
                    "name": phrases.name_listed(standing.person),
                    "born": f"{standing.person.class_name} · {due}" if due else standing.person.class_name,
                    "status": step,
                    "waiting": False,
                }
            )
        return rows[:LIMIT]

    def open(self, child: str) -> None:
        """Ask which step was taken."""
        t, desk = self.t, self.session.desk
        standing = desk.ledger.register.standing(child)
        done = [
            f"{phrases.short_date(t, f.day)}: {t(f'followup.step_{f.step}')}"
            + (f" ({f.note})" if f.note else "")
            for f in standing.followups
            if t.has(f"followup.step_{f.step}")
        ]
        words = "\n".join([f"{phrases.status_line(t, standing)}", *done])
        ways = [
            (t(f"followup.step_{step}"), "quiet", lambda step=step: self._note(child, step)) for step in STEPS
        ]
        self.session.ask(
            phrases.name_said(standing.person), words, [*ways, (t("sheet.back"), "strong", lambda: None)]
        )

    def _note(self, child: str, step: str) -> None:
        if step == "findings":
            self.session.ask_text(
                self.t("followup.step_findings"),
                self.t("followup.findings_label"),
                self.t("note.keep"),
                lambda words: self._write(child, step, words),
            )
            return
        self._write(child, step, "")

    def _write(self, child: str, step: str, note: str) -> None:
        office = self.session.desk.office
        if self.guarded(lambda: office.note_step([child], step, note=note)):
            self.changed()
