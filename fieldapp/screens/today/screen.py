"""The day's screen glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.stage import Screen
from fieldapp.screens.today.presenter import TodayPresenter

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class TodayScreen(Screen):
    """The first screen after unlocking."""

    make = TodayPresenter
    presenter: TodayPresenter

    def on_kv_post(self, base: Any) -> None:
        look = App.get_running_app().look
        if look.low and look.enlarged:  # the tiles say it themselves, and need its room
            self.ids.left.remove_widget(self.ids.heading)
        if not look.roomy:
            for way in (self.ids.settings, self.ids.pause):
                self.ids.ways.remove_widget(way)

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        ids.top.title, ids.top.about, ids.top.pill = view.title, view.about, self.session.pill()
        ids.seen.text, ids.pace.text = view.seen, view.pace
        ids.meter.value = view.fraction
        ids.ready.text, ids.protocol.text, ids.caution.text = view.ready_words, view.protocol, view.caution
        ids.check.text, ids.others.text = view.check, view.others
        ids.check.rank = "quiet" if view.ready else "accent"
        ids.start.text, ids.start.disabled = view.start, not view.may_start
        ids.classes.show(
            [(name, name or t("next_child.no_class"), words, False) for name, words, _done in view.classes]
        )

    def keys(self) -> dict[str, Callable[[], Any]]:
        return dict.fromkeys(("pedal",), self.presenter.start)
