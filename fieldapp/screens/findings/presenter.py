"""An examiner's audiogram: typed in, checked, saved, shown, corrected, taken out. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.findings.draft import AFTER, BEFORE, COLUMNS, MINUS, Draft
from fieldapp.screens.findings.words import Line, figures_told
from shared.hearing.examination import EARPHONES, FREQUENCIES, Examination, Reading
from shared.records.standing import ExaminationNoted

TYPING, ABOUT, SHOWN = "typing", "about", "shown"
YEARS_BACK = 3


@dataclass(frozen=True, slots=True)
class CellView:
    """One frequency of the column in hand."""

    hz: int
    words: str  # frequency and what is typed, in two lines
    chosen: bool


@dataclass(frozen=True, slots=True)
class FindingsView:
    """Everything on the screen; ``columns`` are (ear, conduction, words, chosen)."""

    step: str
    columns: tuple[tuple[str, str, str, bool], ...]
    cells: tuple[CellView, ...]
    hand: str  # the cell in hand, in words
    wrong: str
    readings: tuple[Reading, ...]
    figures: tuple[Line, ...]
    about: str  # whose examination is shown, and since when the record has it
    day: str
    earphones: tuple[tuple[str, str, bool], ...]  # key, words, chosen
    may_go_on: bool
    may_save: bool
    lacking: str  # why not


class FindingsPresenter(Presenter):
    """``noted`` is the audiogram to show, or empty for a new one; ``back`` where to go from here."""

    def enter(self, child: str, noted: str = "", back: tuple[str, dict[str, Any]] = ("followup", {})) -> None:
        self.child, self.noted, self.back = child, noted, back
        standing = self.session.desk.ledger.register.standing(child)
        self.name = phrases.name_said(standing.person)
        self.found = next((each for each in standing.examinations if each.id == noted), None)
        self.step = SHOWN if self.found else TYPING
        self._fill(self.found)

    def _fill(self, found: ExaminationNoted | None) -> None:
        """What is typed, from an audiogram that is there or from nothing."""
        examination = found.examination if found else None
        self.draft = Draft.of(examination) if examination else Draft()
        self.examined = examination.examined.isoformat() if examination else ""
        self.examiner = examination.examiner if examination else ""
        self.earphones = examination.earphones if examination else ""
        self.note = examination.note if examination else ""
        self._untouched = self._data()
        self._strict = False  # whether a level that is not whole yet is told of

    def _data(self) -> dict[str, Any]:
        about = {"examined": self.examined, "examiner": self.examiner.strip()}
        return self.draft.to_dict(**about, earphones=self.earphones, note=self.note.strip())

    @property
    def touched(self) -> bool:
        """Whether something is typed that is not saved."""
        return self._data() != self._untouched or bool(self.draft.wrong)

    # -- typing ----------------------------------------------------------------------------------

    def press(self, sign: str) -> None:
        """A key of the pad; a level that is none is told of at once, and not left."""
        self._strict = sign in (BEFORE, AFTER) and self.draft.cell(self.draft.at).wrong
        if not self._strict:
            self.draft.press(sign)
        self.changed()

    def choose(self, hz: int) -> None:
        """Another frequency of the column in hand."""
        ear, conduction, _ = self.draft.at
        self.draft.at = (ear, conduction, hz)
        self.changed()

    def open_column(self, ear: str, conduction: str) -> None:
        """Another column."""
        self.draft.open(ear, conduction)
        self.changed()

    def turn(self, by: int) -> None:
        """The next column, or the one before."""
        self.draft.turn(by)
        self.changed()

    def onward(self) -> None:
        """From the thresholds to the rest; a cell that holds no threshold is shown instead."""
        if self.draft.wrong:
            self._strict = True
            self.draft.at = self.draft.wrong[0]
        elif self.draft.readings:
            self.step = ABOUT
        self.changed()

    def set(self, **values: str) -> None:
        """What was typed or chosen beside the thresholds: ``examined`` (ISO), ``examiner``, ``note``."""
        for name, value in values.items():
            setattr(self, name, value)
        self.changed()

    def choose_earphones(self, earphones: str) -> None:
        """Which earphones were worn; empty: the reply does not say."""
        self.earphones = earphones
        self.changed()

    def years(self) -> list[int]:
        """The years that an examination can be of, newest first."""
        year = self.session.clock().date().year
        return list(range(year, year - YEARS_BACK, -1))

    # -- saving, correcting ----------------------------------------------------------------------

    def save(self) -> None:
        """Write it down, in place of the one that it corrects; it is shown then."""
        if self.guarded(self._write):
            self.session.go("findings", child=self.child, noted=self.noted, back=self.back)

    def _write(self) -> None:
        examination = Examination.from_dict(self._data())
        office = self.session.desk.office
        day = date.fromisoformat(self.found.day) if self.found else None
        self.noted = office.note_examination(self.child, examination, day=day, replaces=self.noted)

    def correct(self) -> None:
        """Type the shown audiogram anew."""
        self.step = TYPING
        self.changed()

    def ask_take_out(self) -> None:
        """It is another child's, or wrong altogether."""
        t = self.t
        self.session.ask(
            t("findings.take_out_title"),
            t("findings.take_out_words"),
            [
                (t("findings.take_out"), "quiet", self._take_out),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def _take_out(self) -> None:
        office = self.session.desk.office
        if self.guarded(lambda: office.withdraw_examination(self.child, self.noted)):
            self._leave()

    def go_back(self) -> None:
        """One step back; out of the screen only after asking, where something is not saved."""
        t = self.t
        if self.step == ABOUT:
            self.step = TYPING
            self.changed()
        elif self.step == TYPING and self.touched:
            self.session.ask(
                t("findings.unsaved_title"),
                t("findings.unsaved_words"),
                [
                    (t("findings.leave"), "quiet", self._leave),
                    (t("findings.go_on"), "strong", lambda: None),
                ],
            )
        elif self.step == TYPING and self.found is not None:
            self.step = SHOWN
            self.changed()
        else:
            self._leave()

    def _leave(self) -> None:
        screen, arguments = self.back
        self.session.go(screen, **arguments)

    # -- looking ---------------------------------------------------------------------------------

    def view(self) -> FindingsView:
        """The screen as it stands."""
        t, draft = self.t, self.draft
        ear, conduction, hz = draft.at
        return FindingsView(
            step=self.step,
            columns=tuple(
                (side, way, self._column(side, way), (side, way) == (ear, conduction))
                for side, way in COLUMNS
            ),
            cells=tuple(
                CellView(each, f"{each}\n{self._cell(each)}", each == hz) for each in FREQUENCIES[conduction]
            ),
            hand=f"{hz} Hz: {self._hand()}",
            wrong=self._wrong(),
            readings=draft.readings,
            figures=tuple(figures_told(t, draft.readings, self.earphones)),
            about=self._about(),
            day=phrases.short_date(t, self.examined) or t("findings.choose_day"),
            earphones=tuple(
                (key, t(f"findings.earphones_{key or 'unsaid'}"), key == self.earphones)
                for key in ("", *EARPHONES)
            ),
            may_go_on=bool(draft.readings) or bool(draft.wrong),
            may_save=bool(self.examined and draft.readings and not draft.wrong),
            lacking="" if self.examined else t("findings.day_first"),
        )

    def _column(self, ear: str, conduction: str) -> str:
        count = sum((each.ear, each.conduction) == (ear, conduction) for each in self.draft.readings)
        name = f"{self.t(f'ear.{ear}_short')}\n{self.t(f'findings.{conduction}')}"
        return f"{name} · {count}" if count else name

    def _cell(self, hz: int) -> str:
        """What stands in a cell: the level, ``>`` before it for no response, a mark for masking; a dot for nothing."""
        cell = self.draft.cell((*self.draft.at[:2], hz))
        level = f"{'>' if cell.no_response else ''}{cell.typed or ('?' if cell.wrong else '·')}"
        open_elsewhere = cell.wrong and hz != self.draft.at[2]
        masked = f" {self.t('findings.sign_masked')}" if cell.masked else ""
        return f"{'! ' if open_elsewhere else ''}{level}{masked}"

    def _hand(self) -> str:
        """The cell in hand, in whole words."""
        t, cell = self.t, self.draft.cell(self.draft.at)
        if not cell.typed:
            level = t("findings.nothing")
        elif cell.no_response:
            level = t("findings.silent_at", level=cell.typed)
        else:
            level = f"{cell.typed} dB HL"
        return f"{level}, {t('findings.masked').lower()}" if cell.masked else level

    def _wrong(self) -> str:
        """What is wrong with the cell in hand once it cannot become a threshold, or is left without one."""
        cell = self.draft.cell(self.draft.at)
        if not cell.wrong or (cell.may_become and not self._strict):
            return ""
        return self.t("findings.off_grid" if cell.typed.strip(MINUS) else "findings.level_missing")

    def _about(self) -> str:
        t, found = self.t, self.found
        if found is None:
            return ""
        examination = found.examination
        lines = [
            t("findings.examined_on", day=phrases.short_date(t, examination.examined.isoformat())),
            examination.examiner,
            f"{t('findings.earphones')}: {t(f'findings.earphones_{examination.earphones}')}"
            if examination.earphones
            else "",
            examination.note,
            t("findings.entered", day=phrases.short_date(t, found.at), by=found.author),
        ]
        return "\n".join(line for line in lines if line)
