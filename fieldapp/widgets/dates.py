"""Choosing a date by touch: year, month and day side by side, without a keyboard and without scrolling."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.widgets.box import Band
from fieldapp.widgets.press import Press
from fieldapp.widgets.sheet import Plate

Builder.load_file(str(Path(__file__).with_name("dates.kv")))


class DateKey(Press):
    """One year, month or day."""


PARTS = ("year", "month", "day")


class DatePicker(BoxLayout):
    """``chosen`` is an ISO date, or empty until year, month and day are all chosen.

    A low screen has no room for all three side by side: there one follows the other.
    """

    chosen = StringProperty("")

    def on_kv_post(self, base: Any) -> None:
        self._narrow = not App.get_running_app().look.roomy
        if not self._narrow:
            return
        self._grids = {part: self.ids[f"{part}s"].__self__ for part in PARTS}
        self.clear_widgets()
        self.orientation = "vertical"
        band = Band()
        self._chips = {part: DateKey() for part in PARTS}
        for part, chip in self._chips.items():
            chip.bind(on_release=lambda _c, part=part: self._show(part))
            band.add_widget(chip)
        self.add_widget(band)

    def _spread(self) -> None:
        """One part alone has the whole width of a low screen; filling a grid measures it as if three shared it."""
        for part, columns in zip(PARTS, (6, 6, 7), strict=True):
            grid = self._grids[part]
            grid.cols, grid.size_hint_x = max(1, min(columns, len(grid.children))), 1

    def _show(self, part: str) -> None:
        """Show the grid of one part, on a low screen."""
        for grid in self._grids.values():
            if grid.parent is not None:
                self.remove_widget(grid)
        self.add_widget(self._grids[part])
        said = {name: App.get_running_app().t(f"date.{name}") for name in PARTS}
        said |= {name: str(getattr(self, name)) for name in ("year", "day") if getattr(self, name)}
        if self.month:
            said["month"] = self._months[self.month - 1]
        for name, chip in self._chips.items():
            chip.text, chip.rank = said[name], "strong" if name == part else "quiet"

    def offer(self, years: Sequence[int], months: Sequence[str], chosen: str = "") -> None:
        """Which years can be chosen, and the months' names."""
        self.year = self.month = self.day = 0
        if chosen:
            self.year, self.month, self.day = map(int, chosen.split("-"))
        self._fill(self.ids.years, "year", [(year, str(year)) for year in years])
        self._fill(self.ids.months, "month", list(enumerate(months, 1)))
        self._days()
        self._months = list(months)
        if self._narrow:
            self._spread()
            self._show("day" if chosen else "year")
        self.chosen = chosen

    def _fill(self, holder: Any, part: str, choices: Sequence[tuple[int, str]]) -> None:
        holder.clear_widgets()
        for value, text in choices:
            key = DateKey(text=text, rank="chosen" if getattr(self, part) == value else "quiet")
            key.value = value
            key.bind(on_release=lambda key, part=part, holder=holder: self._choose(holder, part, key.value))
            holder.add_widget(key)

    def _choose(self, holder: Any, part: str, value: int) -> None:
        setattr(self, part, value)
        for key in holder.children:
            key.rank = "chosen" if key.value == value else "quiet"
        if part != "day":
            self._days()
        if self._narrow:
            self._show(PARTS[min(PARTS.index(part) + 1, 2)])
        whole = self.year and self.month and self.day
        self.chosen = date(self.year, self.month, self.day).isoformat() if whole else ""

    def _days(self) -> None:
        last = monthrange(self.year or 2000, self.month)[1] if self.month else 31
        if self.day > last:
            self.day = 0
        keys = self.ids.days.children
        if len(keys) != last:
            self._fill(self.ids.days, "day", [(day, str(day)) for day in range(1, last + 1)])


class DatePlate(Plate):
    """Choosing a date, over the screen: nothing is kept before the button, for a date is changed part by part."""

    button = StringProperty("")

    def __init__(self, title: str, button: str, act: Callable[[str], Any]) -> None:
        super().__init__(title, button=button)
        self.picker, self._act = self.ids.picker.__self__, act

    def take(self) -> None:
        """The date that is chosen is meant."""
        self.close()
        self._act(self.picker.chosen)
