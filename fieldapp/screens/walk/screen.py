"""The tone walk's glue: shows the view, and gives taps, keys and pedal to the presenter."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.stage import Screen
from fieldapp.screens.walk.presenter import WalkPresenter, WalkView
from shared.records.entries import EARS

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class WalkScreen(Screen):
    """The screen on which the screener spends the day."""

    make = WalkPresenter
    presenter: WalkPresenter
    rests = True
    ear = StringProperty("right")

    def on_kv_post(self, base: Any) -> None:
        # Held here, because what is not on the screen would otherwise be dropped.
        self._parts = [self.ids[name].__self__ for name in ("tone", "due", "answers", "ways")]
        if not App.get_running_app().look.spare:  # the buttons then fill the row
            self.ids.ways_back.remove_widget(self.ids.rest)
        if not App.get_running_app().look.roomy:  # a low screen has the counting beside the answers
            presented, answers = self.ids.presented.__self__, self.ids.answers
            presented.parent.remove_widget(presented)
            presented.fit, presented.size_hint_x = False, 1
            answers.add_widget(presented, index=len(answers.children))
            for words in (self.ids.conduct, self.ids.limit):  # and their words, where needed, with the tone
                answers.remove_widget(words)

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        look = App.get_running_app().look
        crowded = look.enlarged and look.low  # the card of the tone holds one sentence
        ids.top.title, ids.top.count = view.name, self._count(view)
        ids.top.about = view.about_short if crowded else view.about
        ids.top.pill = self.session.pill()
        if view.columns:
            ids.map.lay([(ear, t(f"ear.{ear}_row")) for ear in EARS], view.columns)
            ids.map.show(view.cells)
        ids.undo.disabled = not view.may_undo
        self._turn_to(view.due)
        if view.due:
            ids.due_words.text = view.due_words
            return
        self.ear = view.ear
        ids.ear.text, ids.hz.text, ids.level.text = view.ear_title, view.hz, view.level
        counting = crowded and view.counting  # the tone is set: what to set gives way to what counts
        ids.turn.text, ids.presented.text = "" if counting else view.turn, view.presented
        if look.roomy:
            ids.conduct.say(view.conduct, view.conducts)
            ids.limit.say(view.limit, view.limits)
        else:
            ids.told.text = view.limit if counting else "" if crowded else view.told
        ids.reseat.disabled = not view.may_reseat

    def _count(self, view: WalkView) -> str:
        """How many were screened; a low screen has room for the figures only, and none beside larger words."""
        look = App.get_running_app().look
        if look.roomy:
            return view.count
        return "" if look.enlarged and look.low else view.count_short

    def _turn_to(self, due: bool) -> None:
        """Show the tone and its answers, or the reseating in their place."""
        ids = self.ids
        tone, reseating, answers, ways = self._parts
        places = [(tone, ids.left, not due), (reseating, ids.left, due)]
        places += [(answers, ids.right, not due), (ways, ids.right, due)]
        for shown, holder, there in places:
            if there and shown.parent is None:
                holder.add_widget(shown, index=len(holder.children))
            elif not there and shown.parent is not None:
                holder.remove_widget(shown)
        ids.reseat.disabled = due

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        heard, missed = (lambda: act.answer(True)), (lambda: act.answer(False))
        return {
            **dict.fromkeys(("pedal", "h", "+", "space", "enter"), heard),
            **dict.fromkeys(("n", "-", "pageup"), missed),
            **dict.fromkeys(("u", "backspace"), act.undo),
            "p": act.present,
            "r": act.reseat,
            "s": act.ask_stop,
            "escape": act.ask_stop,
        }
