"""Takes a newer class list into the visit book. No Kivy."""

from __future__ import annotations

from typing import Any

from fieldapp.roster import RosterReading
from fieldapp.screens.roster_choice import RosterChoice
from fieldapp.services.office import RosterUpdate


class RosterPresenter(RosterChoice):
    """``said`` tells what the newer list changed."""

    def enter(self) -> None:
        self.begin_choice()
        self.busy = False
        self.said = ""
        self._foreseen: tuple[RosterReading, RosterUpdate] | None = None

    def foreseen(self) -> RosterUpdate | None:
        """What taking the list that was read would change; None where none was read."""
        if self.reading is None:
            return None
        if self._foreseen is None or self._foreseen[0] is not self.reading:
            self._foreseen = (self.reading, self.session.desk.office.foresee(self.reading.rows))
        return self._foreseen[1]

    def roster_words(self) -> tuple[str, list[str]]:
        """The same, and what taking the list in would change."""
        words, problems = super().roster_words()
        update = self.foreseen()
        if update is not None:
            words = f"{words}\n{self.t('roster.foreseen', changes=self._changes(update))}"
        return words, problems

    def _changes(self, update: RosterUpdate) -> str:
        numbers = ("added", "corrected", "left", "returned", "unchanged")
        said = {name: self.t.counted(f"roster.{name}", getattr(update, name)) for name in numbers}
        return self.t("roster.taken", **said)

    def take(self) -> None:
        """Take the list that was read into the book; asked once more where most children would leave."""
        update, t = self.foreseen(), self.t
        if update is None or self.busy:
            return
        if not update.mostly_leavers:
            self._take()
            return
        self.session.ask(
            t("roster.many_title", left=update.left),
            t("roster.many_words"),
            [(t("roster.many_take"), "quiet", self._take), (t("sheet.back"), "back", lambda: None)],
        )

    def _take(self) -> None:
        office, rows = self.session.desk.office, self.reading.rows  # type: ignore[union-attr]
        self.busy = True
        self.changed()
        self.session.work(lambda: office.update_roster(rows), self._taken, self._failed)

    def _taken(self, update: Any) -> None:
        self.busy = False
        self.said = self._changes(update)
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
