"""The result screen's glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.press import Press

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ResultScreen(Screen):
    """Looks the same whatever the result: a child who glances over sees no colour that tells."""

    make = ResultPresenter
    presenter: ResultPresenter
    rests = True

    def on_kv_post(self, base: Any) -> None:
        if not App.get_running_app().look.spare:
            self.ids.ways_back.remove_widget(self.ids.rest)

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        view, look = self.presenter.view(), self.ids
        look.following.clear_widgets()
        offered = list(enumerate(view.following))
        for at, (child, name) in [*offered[1:], *offered[:1]]:  # the likeliest in the thumb's corner
            button = Press(text=name, rank="accent" if at == 0 else "quiet", answer=at == 0)
            if at == 0:
                button.font_size = self.ids.title.font_size
                button.size_hint_y = 1
            button.bind(on_release=lambda _b, child=child: self.presenter.begin(child))
            look.following.add_widget(button)

    def refresh(self) -> None:
        view, ids, roomy = self.presenter.view(), self.ids, App.get_running_app().look.roomy
        ids.top.title, ids.top.about, ids.top.count = view.name, view.about, view.count if roomy else ""
        ids.top.pill = self.session.pill()
        ids.title.text, ids.words.text, ids.caution.text = view.title, view.words, view.caution
        ids.heading.text, ids.other.text = view.heading, view.other
        ids.undo.disabled = not view.may_undo
        ids.note.disabled = not view.may_note

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        return {
            **dict.fromkeys(("pedal", "enter", "space"), act.begin_first),
            **dict.fromkeys(("u", "backspace"), act.undo),
            **dict.fromkeys(("l", "escape"), act.choose),
        }
