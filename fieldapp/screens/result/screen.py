"""The result screen's glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty

from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Gap
from fieldapp.widgets.press import Press

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class Following(Press):
    """A child who may be next: its name in as many lines as there is room for."""

    name = StringProperty("")
    first = BooleanProperty(False)  # the likeliest: as large as it fits


class ResultScreen(Screen):
    """Looks the same whatever the result: a child who glances over sees no colour that tells."""

    make = ResultPresenter
    presenter: ResultPresenter
    rests = True

    def on_kv_post(self, base: Any) -> None:
        if not App.get_running_app().look.spare:
            self.ids.ways_back.remove_widget(self.ids.rest)
        self._other = self.ids.other.__self__  # held while it is off the screen
        self._again = self.ids.again.__self__  # likewise

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        view, look = self.presenter.view(), self.ids
        look.following.clear_widgets()
        self._place_other(bool(view.following))
        if not view.following:  # nobody follows: the way on is the usual next step
            button = Press(
                text=view.other, rank="accent", answer=True, size_hint_y=1, font_size=look.title.font_size
            )
            button.bind(on_release=lambda _b: self.presenter.choose())
            look.following.add_widget(Gap())
            look.following.add_widget(button)
        offered = list(enumerate(view.following))
        for at, (child, name) in [*offered[1:], *offered[:1]]:  # the likeliest in the thumb's corner
            button = Following(name=name, rank="accent" if at == 0 else "quiet", answer=at == 0)
            if at == 0:
                button.size_hint_y, button.first = 1, True
            button.bind(on_release=lambda _b, child=child: self.presenter.begin(child))
            look.following.add_widget(button)

    def _place_other(self, there: bool) -> None:
        """The way to somebody else stands on top, where somebody follows."""
        side = self.ids.side
        if there and self._other.parent is None:
            side.add_widget(self._other, index=len(side.children))
        elif not there and self._other.parent is not None:
            side.remove_widget(self._other)

    def refresh(self) -> None:
        view, ids, roomy = self.presenter.view(), self.ids, App.get_running_app().look.roomy
        ids.top.title, ids.top.about, ids.top.count = view.name, view.about, view.count if roomy else ""
        ids.top.pill = self.session.pill()
        ids.title.text, ids.words.text, ids.caution.text = view.title, view.words, view.caution
        ids.heading.text, self._other.text = view.heading, view.other
        self._again.text = view.again
        if bool(view.again) != (self._again.parent is not None):
            if view.again:
                ids.left.add_widget(self._again, index=1)
            else:
                ids.left.remove_widget(self._again)
        ids.undo.disabled = not view.may_undo
        ids.note.disabled = not view.may_note

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        return {
            **dict.fromkeys(("pedal", "enter", "space"), act.begin_first),
            **dict.fromkeys(("u", "backspace"), act.undo),
            **dict.fromkeys(("l", "escape"), act.choose),
        }
