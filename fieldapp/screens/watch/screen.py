"""The stations: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import BooleanProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.screens.stage import Screen
from fieldapp.screens.watch.presenter import WatchPresenter
from fieldapp.widgets.box import Mark
from fieldapp.widgets.words import OneLine, Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class RateCell(OneLine):
    """One tone at one station."""

    flagged = BooleanProperty(False)


class StationLine(BoxLayout):
    """A line of the table, as high as its highest cell."""


class WatchScreen(Screen):
    """Which station needs a look."""

    make = WatchPresenter
    presenter: WatchPresenter

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        look = App.get_running_app().look
        ids.top.pill = self.session.pill()
        ids.table.clear_widgets()
        side = {"size_hint_x": None, "width": look.small * (9 if look.roomy else 7)}
        heads = StationLine()
        heads.add_widget(Words(text=t("walk.hz"), tone="soft", font_size=look.small, **side))
        for ear, word in view.heads:
            word = word if look.roomy else word.replace(" ", "\n")  # ear above frequency, where it is narrow
            heads.add_widget(Words(text=word, tone=ear, font_size=look.small, weight=True, halign="center"))
        ids.table.add_widget(heads)
        for row in view.rows:
            line = StationLine()
            said = f"{row.name}\n{row.children}"
            line.add_widget(Words(text=said, font_size=look.small, pos_hint={"center_y": 0.5}, **side))
            if row.instead:
                line.add_widget(Words(text=row.instead, tone="soft", pos_hint={"center_y": 0.5}))
            for words, flagged in row.cells:
                line.add_widget(RateCell(text=words, flagged=flagged, pos_hint={"center_y": 0.5}))
            ids.table.add_widget(line)
        ids.alarms.clear_widgets()
        for heading, what, again in view.alarms:
            mark = Mark()
            mark.add_widget(Words(text=heading, font_size=look.small))
            mark.add_widget(Words(text=what, weight=True))
            if again:
                mark.add_widget(Words(text=t("watch.again", names="; ".join(again))))
            ids.alarms.add_widget(mark)
        if not view.alarms:
            ids.alarms.add_widget(Words(text=t("watch.none"), tone="soft"))

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
