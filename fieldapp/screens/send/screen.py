"""Sending: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.send.presenter import SendPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.pads_signs import DIGITS, typing

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class SendScreen(Screen):
    """The address by the own pad, and how far it is."""

    make = SendPresenter
    presenter: SendPresenter

    def on_kv_post(self, base: Any) -> None:
        self.ids.pad.bind(on_key=lambda _p, sign: self.presenter.press(sign))

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.phrase.text = act.phrase()
        ids.typed.text = act.typed or "…"
        ids.pad.extra = act.parting()
        ids.said.text, ids.wrong.text = act.said, act.wrong
        idle = t("send.send") if act.typed else t("send.needs")
        ids.send.text = t("send.stop") if act.busy else idle
        ids.send.rank = "quiet" if act.busy else "accent"
        ids.send.disabled = not act.typed

    def turn(self) -> None:
        """Send, or stop sending."""
        if self.presenter.busy:
            self.presenter.stop()
        else:
            self.presenter.send()

    def keys(self) -> dict[str, Callable[[], Any]]:
        keys: dict[str, Callable[[], Any]] = {
            "escape": lambda: self.session.go("give_back"),
            "enter": self.presenter.send,
            **typing(self.presenter.press, DIGITS + ".:"),
        }
        keys[";"] = keys[":"]  # one key on many keyboards, and whether shift is held is not said here
        return keys
