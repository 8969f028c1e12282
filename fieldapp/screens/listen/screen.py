"""Listening: the glue, and the QR code."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.clock import Clock
from kivy.graphics import Color, Rectangle
from kivy.lang import Builder
from kivy.uix.widget import Widget
from kivy.utils import escape_markup

from fieldapp.screens.listen.presenter import ListenPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class QrCode(Widget):
    """A QR code, black on white whatever the theme: it is read by a camera."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self._rows: tuple[tuple[bool, ...], ...] = ()
        draw = Clock.create_trigger(lambda _dt: self._draw(), -1)
        self.bind(pos=draw, size=draw)

    def show(self, rows: tuple[tuple[bool, ...], ...]) -> None:
        """Draw these modules."""
        if rows != self._rows:
            self._rows = rows
            self._draw()

    def _draw(self) -> None:
        self.canvas.clear()
        if not self._rows:
            return
        module = int(min(self.width, self.height) // len(self._rows))
        side = module * len(self._rows)
        left, top = self.center_x - side / 2, self.top
        with self.canvas:
            Color(1, 1, 1, 1)
            Rectangle(pos=(left, top - side), size=(side, side))
            Color(0, 0, 0, 1)
            for down, row in enumerate(self._rows):
                for across, dark in enumerate(row):
                    if dark:
                        place = (left + across * module, top - (down + 1) * module)
                        Rectangle(pos=place, size=(module, module))


class ListenScreen(Screen):
    """Tablets send here while this screen is shown."""

    make = ListenPresenter
    presenter: ListenPresenter

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.address.text, ids.others.text, ids.phrase.text = view.address, view.others, view.phrase
        ids.qr.show(self.presenter.qr())
        ids.sum.text = view.sum
        ids.tablets.clear_widgets()
        for name, words in view.tablets:
            said = f"[b]{escape_markup(name)}[/b]  {escape_markup(words)}"
            ids.tablets.add_widget(Words(text=said, markup=True))
        if not view.tablets:
            ids.tablets.add_widget(Words(text=t("listen.nobody"), tone="soft"))

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("gather")}
