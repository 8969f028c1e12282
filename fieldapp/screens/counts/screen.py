"""Counts: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.counts.presenter import CountsPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.press import Press
from fieldapp.widgets.words import OneLine

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class CountsScreen(Screen):
    """By grade, for the year."""

    make = CountsPresenter
    presenter: CountsPresenter

    def refresh(self) -> None:
        ids, look = self.ids, App.get_running_app().look
        ids.top.pill = self.session.pill()
        heads, rows = self.presenter.table()
        ids.table.clear_widgets()
        ids.table.cols = len(heads) + 1
        side = {"size_hint_x": None, "width": look.body * (14 if look.roomy else 11)}
        ids.table.add_widget(OneLine(**side))
        for head in heads:
            ids.table.add_widget(OneLine(text=head, halign="right", tone="soft"))
        for name, words, numbers in rows:
            button = Press(text=words, bold=False, tall=look.least, **side)
            button.bind(on_release=lambda _b, name=name: self.presenter.open(name))
            ids.table.add_widget(button)
            for at, number in enumerate(numbers):
                last = at == len(numbers) - 1
                ids.table.add_widget(
                    OneLine(
                        text=str(number) if number else "·", halign="right", weight=last, height=button.height
                    )
                )

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
