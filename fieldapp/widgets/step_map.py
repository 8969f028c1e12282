"""The small map of the tone walk: which steps are done, which is now, which had no response.

All done steps have the same ground and border, so that they look alike from where a child sits; a missed one is told
by its word, heavier and darker, and by a short bar beneath it, for who holds the tablet.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import NumericProperty, OptionProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from fieldapp.widgets.words import OneLine

Builder.load_file(str(Path(__file__).with_name("step_map.kv")))


class MapCell(OneLine):
    """One step. Its answer is a small word; its ground only says done, now or to come."""

    rim = NumericProperty(1)
    stage = OptionProperty("ahead", options=("done", "missed", "now", "ahead"))


class StepMap(BoxLayout):
    """Rows for the ears, columns for the frequencies."""

    def lay(self, ears: Sequence[tuple[str, str]], columns: Sequence[str]) -> None:
        """Build the grid for (ear, word) rows and the column heads; nothing is built again if unchanged."""
        key = (tuple(ears), tuple(columns))
        if getattr(self, "_laid", None) == key:
            return
        self._laid = key
        self._cells: dict[tuple[str, int], MapCell] = {}
        self.clear_widgets()
        look = App.get_running_app().look
        grid = GridLayout(cols=len(columns) + 1, spacing=look.seam)
        head = {"size_hint_y": None, "height": look.small * 1.5, "halign": "center", "tone": "soft"}
        grid.add_widget(
            OneLine(size_hint_x=None, width=look.small * 5.2, size_hint_y=None, height=look.small * 1.5)
        )
        for column in columns:
            grid.add_widget(OneLine(text=column, font_size=look.small, **head))
        for ear, word in ears:
            grid.add_widget(
                OneLine(
                    text=word,
                    tone=ear,
                    weight=True,
                    size_hint_x=None,
                    size_hint_y=1,
                    width=look.small * 5.2,
                    font_size=look.small,
                )
            )
            for at in range(len(columns)):
                cell = MapCell()
                self._cells[ear, at] = cell
                grid.add_widget(cell)
        self.add_widget(grid)

    def show(self, cells: Sequence[tuple[str, int, str, str]]) -> None:
        """Set (ear, column, stage, word) of every cell."""
        for ear, at, stage, word in cells:
            cell: Any = self._cells[ear, at]
            cell.stage, cell.text = stage, word
