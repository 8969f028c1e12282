"""An examiner's audiogram while it is typed in: a cell an ear, conduction and frequency, and the cell in hand. No Kivy.

What a key does to a cell may live here; whether the whole is an examination is asked of ``shared.hearing``.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from fieldapp.widgets.pads_signs import ERASE
from shared.hearing.examination import FREQUENCIES, Examination, Reading, ordered
from shared.hearing.fields import on_grid

MINUS, NO_RESPONSE, MASKED, BEFORE, AFTER = "–", "NR", "M", "‹", "›"
#: The four columns of an audiogram in the order they are typed.
COLUMNS = (("right", "air"), ("left", "air"), ("right", "bone"), ("left", "bone"))
FIRST_HZ = 500
_MOST_DIGITS = 3

Spot = tuple[str, str, int]  # ear, conduction, Hz


@dataclass(frozen=True, slots=True)
class Cell:
    """What is typed for one threshold; the level may not be whole yet."""

    typed: str = ""  # digits, perhaps after a minus
    masked: bool = False
    no_response: bool = False

    @property
    def level(self) -> int | None:
        """The level in dB HL; None where nothing, or nothing that can be one, is typed."""
        digits = self.typed.removeprefix(MINUS)
        if not digits:
            return None
        level = -int(digits) if self.typed.startswith(MINUS) else int(digits)
        return level if on_grid(level) else None

    @property
    def wrong(self) -> bool:
        """Whether something is typed that is no threshold."""
        return self != Cell() and self.level is None

    @property
    def may_become(self) -> bool:
        """Whether further digits can still make a level of it."""
        digits = self.typed.removeprefix(MINUS)
        longer = [
            replace(self, typed=f"{self.typed}{more}") for more in (*range(10), *range(100)) if more or digits
        ]
        return any(
            cell.level is not None for cell in longer if len(cell.typed.removeprefix(MINUS)) <= _MOST_DIGITS
        )

    def press(self, sign: str) -> Cell:
        """The cell after a key of the pad."""
        digits = self.typed.removeprefix(MINUS)
        if sign == NO_RESPONSE:
            return replace(self, no_response=not self.no_response)
        if sign == MASKED:
            return replace(self, masked=not self.masked)
        if sign == MINUS:
            return replace(self, typed=digits if self.typed.startswith(MINUS) else MINUS + digits)
        if sign == ERASE:
            return replace(self, typed=self.typed[:-1]) if self.typed else Cell()
        return replace(self, typed=self.typed + sign) if len(digits) < _MOST_DIGITS else self


@dataclass(slots=True)
class Draft:
    """All cells; ``at`` is the one in hand."""

    cells: dict[Spot, Cell] = field(default_factory=dict)
    at: Spot = ("right", "air", FIRST_HZ)

    @classmethod
    def of(cls, examination: Examination) -> Draft:
        """The cells of an examination that is to be corrected."""
        draft = cls()
        for each in examination.readings:
            level = each.level_db_hl
            typed = f"{MINUS}{-level}" if level < 0 else str(level)
            draft.cells[each.ear, each.conduction, each.hz] = Cell(typed, each.masked, each.no_response)
        return draft

    def cell(self, spot: Spot) -> Cell:
        """What is typed there."""
        return self.cells.get(spot, Cell())

    def press(self, sign: str) -> None:
        """A key of the pad on the cell in hand."""
        if sign in (BEFORE, AFTER):
            self.move(-1 if sign == BEFORE else 1)
            return
        cell = self.cell(self.at).press(sign)
        if cell == Cell():
            self.cells.pop(self.at, None)
        else:
            self.cells[self.at] = cell

    def move(self, by: int) -> None:
        """To the next cell or the one before; past a column's end, into the next column."""
        spots = [(ear, way, hz) for ear, way in COLUMNS for hz in FREQUENCIES[way]]
        self.at = spots[(spots.index(self.at) + by) % len(spots)]

    def open(self, ear: str, conduction: str) -> None:
        """To another column, at the same frequency where it has it."""
        hz = self.at[2]
        self.at = (ear, conduction, hz if hz in FREQUENCIES[conduction] else FIRST_HZ)

    def turn(self, by: int) -> None:
        """To the next column or the one before."""
        place = COLUMNS.index(self.at[:2])
        self.open(*COLUMNS[(place + by) % len(COLUMNS)])

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The thresholds typed so far."""
        return ordered(self._readings())

    def _readings(self) -> Iterator[Reading]:
        for spot, cell in self.cells.items():
            if cell.level is not None:
                yield Reading(*spot, cell.level, cell.masked, cell.no_response)

    @property
    def wrong(self) -> tuple[Spot, ...]:
        """The cells that hold no threshold yet."""
        return tuple(spot for spot, cell in self.cells.items() if cell.wrong)

    def to_dict(self, **about: Any) -> dict[str, Any]:
        """The data of an examination, to be checked by ``Examination.from_dict``; empty texts are left out."""
        data: dict[str, Any] = {name: value for name, value in about.items() if value}
        for each in self.readings:
            name = "no_response_at_db_hl" if each.no_response else "level_db_hl"
            cell = {name: each.level_db_hl, "masked": each.masked}
            data.setdefault(each.ear, {}).setdefault(each.conduction, {})[str(each.hz)] = cell
        return data
