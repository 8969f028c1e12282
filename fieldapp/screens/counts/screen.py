"""Counts: the glue."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.counts.presenter import CountsPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.press import PressBox
from fieldapp.widgets.words import OneLine

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class CountRow(PressBox):
    """What is counted, and its numbers by grade; leads to the children that it counts."""

    name = StringProperty("")

    def fill(self, numbers: Sequence[int]) -> None:
        """One number for every grade; the last is for all."""
        for at, number in enumerate(numbers):
            last = at == len(numbers) - 1
            figure = OneLine(text=str(number) if number else "·", halign="right", weight=last)
            self.ids.numbers.add_widget(figure)


class CountsScreen(Screen):
    """By grade, for the year."""

    make = CountsPresenter
    presenter: CountsPresenter

    def refresh(self) -> None:
        ids = self.ids
        ids.top.pill = self.session.pill()
        heads, rows = self.presenter.table()
        ids.heads.clear_widgets()
        for head in heads:
            ids.heads.add_widget(OneLine(text=head, halign="right", tone="soft"))
        ids.table.clear_widgets()
        for name, words, numbers in rows:
            row = CountRow(name=words)
            row.fill(numbers)
            row.bind(on_release=lambda _r, name=name: self.presenter.open(name))
            ids.table.add_widget(row)

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
