"""Choosing a class list, reading it, and saying how that went: for a new visit and for a newer list. No Kivy."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fieldapp.roster import AmbiguousDates, RosterReading, read_roster
from fieldapp.screens.base import Presenter
from fieldapp.screens.files import Found, offered
from shared.errors import QuietbellError

ROSTERS = (".csv", ".tsv", ".txt", ".xlsx", ".zip")
PROBLEMS_SHOWN = 40


class RosterChoice(Presenter):
    """``reading`` is what was read, ``refused`` why a file was not."""

    def begin_choice(self) -> None:
        """Nothing is chosen yet."""
        self.folder = self.session.exchange or Path(self.session.store_path).resolve().parent
        self.file: Path | None = None
        self.reading: RosterReading | None = None
        self.refused = ""

    def files(self) -> list[Found]:
        """Folders and rosters here."""
        return offered(self.folder, ROSTERS)

    def up(self) -> None:
        """The folder around this one."""
        self.folder = self.folder.parent
        self.changed()

    def choose(self, found: Found) -> None:
        """Go into a folder, or read a roster."""
        if found.folder:
            self.folder = found.path
            self.changed()
        else:
            self.read(found.path)

    def read(self, file: Path, date_order: Any = None) -> None:
        """Read the roster, asking how its dates are written where that cannot be told."""
        self.file, self.reading, self.refused = file, None, ""
        try:
            self.reading = read_roster(file, date_order=date_order, today=self.session.clock().date())
        except AmbiguousDates as error:
            self._ask_dates(file, error)
        except QuietbellError as error:
            parts = (error.happened, error.kept, error.todo)
            self.refused = " ".join(self.t.sentence(part) for part in parts if part)
        self.changed()

    def _ask_dates(self, file: Path, error: QuietbellError) -> None:
        t = self.t
        self.session.ask(
            t("prepare.dates_title"),
            t.sentence(error.happened),
            [
                (t("prepare.dates_mdy"), "strong", lambda: self.read(file, "mdy")),
                (t("prepare.dates_dmy"), "strong", lambda: self.read(file, "dmy")),
                (t("sheet.back"), "quiet", lambda: None),
            ],
        )

    def roster_words(self) -> tuple[str, list[str]]:
        """How the reading went, and the rows that were not taken."""
        t = self.t
        if self.refused:
            return self.refused, []
        if self.reading is None:
            return t("prepare.roster_words"), []
        problems = [
            t("prepare.problem", line=problem.line, reason=t.sentence(str(problem.reason)))
            for problem in self.reading.problems[:PROBLEMS_SHOWN]
        ]
        more = len(self.reading.problems) - PROBLEMS_SHOWN
        if more > 0:
            problems.append(t("papers.more", count=more))
        read = t("prepare.read", count=len(self.reading.rows), problems=len(self.reading.problems))
        notes = [t.sentence(note) for note in self.reading.notes]
        return "\n".join([read, *notes]), problems
