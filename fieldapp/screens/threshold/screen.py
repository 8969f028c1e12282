"""The threshold test's glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.stage import Screen
from fieldapp.screens.threshold.presenter import ThresholdPresenter
from fieldapp.widgets.box import Mark
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ThresholdScreen(Screen):
    """Level by level, with the audiogram growing beside it."""

    make = ThresholdPresenter
    presenter: ThresholdPresenter
    ear = StringProperty("right")

    def on_kv_post(self, base: Any) -> None:
        self._parts = [self.ids[name].__self__ for name in ("tone", "found", "answers", "ending")]

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        ids.top.title, ids.top.about, ids.top.pill = view.name, view.about, self.session.pill()
        ids.undo.disabled = not view.may_undo
        ids.chart.show(view.found, view.hand)
        tone, found, answers, ending = self._parts
        places = [(tone, ids.left, not view.done), (found, ids.left, view.done)]
        places += [(answers, ids.right, not view.done), (ending, ids.right, view.done)]
        for shown, holder, there in places:
            if there and shown.parent is None:
                holder.add_widget(shown, index=len(holder.children))
            elif not there and shown.parent is not None:
                holder.remove_widget(shown)
        if view.done:
            ids.found_words.clear_widgets()
            if view.unreliable:
                mark = Mark()
                mark.add_widget(Words(text=view.unreliable, weight=True))
                ids.found_words.add_widget(mark)
            for ear, words in view.words:
                ids.found_words.add_widget(Words(text=t(f"ear.{ear}_title"), tone=ear, weight=True))
                ids.found_words.add_widget(Words(text=words))
            return
        self.ear = view.ear
        ids.ear.text, ids.hz.text, ids.level.text = view.ear_title, view.hz, view.level
        roomy = App.get_running_app().look.roomy
        ids.why.text = view.why if roomy or not view.loud else ""
        ids.tally.text, ids.loud.text = view.tally if roomy else "", view.loud
        ids.warning.opacity = 1 if view.loud else 0

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        return {
            **dict.fromkeys(("pedal", "h", "+", "space", "enter"), lambda: act.answer(True)),
            **dict.fromkeys(("n", "-", "pageup"), lambda: act.answer(False)),
            **dict.fromkeys(("u", "backspace"), act.undo),
            **dict.fromkeys(("s", "escape"), act.ask_stop),
        }
