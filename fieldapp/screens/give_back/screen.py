"""Giving back: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.files import broken_path
from fieldapp.screens.give_back.presenter import CODE, GiveBackPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Gap
from fieldapp.widgets.pads_signs import typing

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class GiveBackScreen(Screen):
    """At the end of the day."""

    make = GiveBackPresenter
    presenter: GiveBackPresenter

    def on_kv_post(self, base: Any) -> None:
        self._wiping = self.ids.wiping.__self__
        self.ids.right.remove_widget(self._wiping)
        self._giving, self._code = self.ids.giving.__self__, self.ids.code.__self__
        self._right = self.ids.right.__self__
        if not App.get_running_app().look.roomy:  # nothing stands beside it until the code is asked for
            self.ids.sides.remove_widget(self._right)
        self.ids.pad.bind(on_key=lambda _p, sign: self.presenter.press(sign))

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.where.text = t("give_back.where", file=broken_path(act.file))
        ids.write.text = t("give_back.writing") if act.busy else t("give_back.write")
        ids.write.disabled = act.busy
        done = act.written is not None
        ids.write.rank = "quiet" if done else "accent"
        ids.done.text = t("give_back.done") if done else ""
        ids.done_words.text = (
            t("give_back.done_words", file=act.written.name, count=act.count) if act.written else ""
        )
        ids.wipe.disabled = act.busy
        if act.wiping and self._wiping.parent is None:
            self._ask_for_the_code()
        empty = f"[color={App.get_running_app().look.hex.edge}]_[/color]"
        ids.typed.text = " ".join([*act.typed, *[empty] * (CODE - len(act.typed))])
        ids.wrong.text = act.wrong
        ids.wipe_now.disabled = not act.whole

    def _ask_for_the_code(self) -> None:
        """Beside the return; a low screen has room for it only in the return's place, the code beside its question."""
        look = App.get_running_app().look
        if look.roomy:
            self.ids.right.add_widget(self._wiping)
            return
        sides, right = self.ids.sides, self._right
        sides.remove_widget(self._giving)
        sides.add_widget(self._wiping)
        sides.add_widget(right, index=1 if look.left_handed else 0)
        self._wiping.remove_widget(self._code)
        right.add_widget(self._code)
        right.add_widget(Gap())

    def keys(self) -> dict[str, Callable[[], Any]]:
        keys: dict[str, Callable[[], Any]] = {"escape": lambda: self.session.go("today")}
        return keys | typing(self.presenter.press) if self.presenter.wiping else keys
