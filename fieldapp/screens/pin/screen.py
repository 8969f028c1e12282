"""The locked screen: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.pin.presenter import PinPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.pads_signs import typing

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class PinScreen(Screen):
    """A pad and nothing that names anyone."""

    make = PinPresenter
    presenter: PinPresenter

    def on_kv_post(self, base: Any) -> None:
        self.ids.pad.bind(on_key=lambda _p, sign: self.presenter.press(sign))

    def refresh(self) -> None:
        self.ids.dots.text = self.presenter.dots() or " "
        self.ids.wrong.text = self.presenter.wrong

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"enter": self.presenter.open, **typing(self.presenter.press)}
