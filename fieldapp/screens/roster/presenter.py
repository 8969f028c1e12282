"""Takes a newer class list into the visit book. No Kivy."""

from __future__ import annotations

from typing import Any

from fieldapp.screens.roster_choice import RosterChoice


class RosterPresenter(RosterChoice):
    """``said`` tells what the newer list changed."""

    def enter(self) -> None:
        self.begin_choice()
        self.busy = False
        self.said = ""

    def take(self) -> None:
        """Take the list that was read into the book."""
        if self.reading is None or self.busy:
            return
        office, rows = self.session.desk.office, self.reading.rows
        self.busy = True
        self.changed()
        self.session.work(lambda: office.update_roster(rows), self._taken, self._failed)

    def _taken(self, update: Any) -> None:
        self.busy = False
        self.said = self.t(
            "roster.taken",
            added=update.added,
            corrected=update.corrected,
            left=update.left,
            returned=update.returned,
            unchanged=update.unchanged,
        )
        lines = []
        if update.exempt or update.due_again:
            lines.append(self.t("roster.exempt", count=update.exempt, over=update.due_again))
        lines += [
            self.t("prepare.problem", line=problem.line, reason=self.t.sentence(str(problem.reason)))
            for problem in update.problems
        ]
        self.said = "\n".join([self.said, *lines])
        self.reading = None
        self.changed()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        self.session.trouble(error)
        self.changed()
