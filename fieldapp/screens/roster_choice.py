"""Choosing a class list, reading it, and saying how that went: for a new visit and for a newer list. No Kivy."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fieldapp.roster import AmbiguousDates, RosterReading, read_roster
from fieldapp.screens.file_choice import FileChoice
from fieldapp.screens.files import Found
from shared.errors import QuietbellError

PROBLEMS_SHOWN = 40


class RosterChoice(FileChoice):
    """``reading`` is what was read, ``refused`` why a file was not."""

    endings = (".csv", ".tsv", ".txt", ".xlsx", ".zip")

    def begin_choice(self) -> None:
        """Nothing is chosen yet."""
        super().begin_choice()
        self.file: Path | None = None
        self.reading: RosterReading | None = None
        self.refused = ""

    def took(self, file: Path) -> None:
        """Read the roster."""
        self.read(file)

    def is_chosen(self, found: Found) -> bool:
        """Whether it is the roster that was read."""
        return found.path == self.file

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
                (t("sheet.back"), "back", lambda: None),
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
