"""The list's glue: classes on one side, children on the other, letters to find one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import NumericProperty, StringProperty

from fieldapp.screens.next_child.presenter import ChildMenu, NextChildPresenter, Way
from fieldapp.screens.searching import SearchScreen
from fieldapp.widgets.press import Press
from fieldapp.widgets.sheet import Plate

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ChildPlate(Plate):
    """The menu of one child: the reasons for not testing, and apart from them the tests."""

    reasons_words = StringProperty("")
    tests_words = StringProperty("")

    def __init__(self, menu: ChildMenu) -> None:
        super().__init__(menu.title, reasons_words=menu.reasons_words, tests_words=menu.tests_words)
        for place, ways in ((self.ids.reasons, menu.reasons), (self.ids.tests, menu.tests)):
            for way in ways:
                place.add_widget(self._button(way))

    def _button(self, way: Way) -> Press:
        button = Press(text=way.text, rank="chosen" if way.chosen else "quiet", disabled=not way.open)
        button.bind(on_release=lambda _button: self._take(way))
        return button

    def _take(self, way: Way) -> None:
        self.close()
        way.act()


class NextChildScreen(SearchScreen):
    """Who is next?"""

    make = NextChildPresenter
    presenter: NextChildPresenter
    rests = True
    foot_height = NumericProperty(48)

    def on_kv_post(self, base: Any) -> None:
        super().on_kv_post(base)
        self._noted = self.ids.noted.__self__  # held while it is off the screen
        self.ids.body.remove_widget(self._noted)
        self.presenter.show_menu = lambda menu: self.session.lay(ChildPlate(menu))

    def refresh(self) -> None:
        super().refresh()
        view, ids = self.presenter.view(), self.ids
        ids.top.about, ids.top.sign, ids.top.pill = view.about, view.sign, self.session.pill()
        ids.top.warns = view.closed
        ids.tiles.show(view.tiles)
        ids.list.show(view.rows)
        self.say(view.empty or view.full)
        roomy = App.get_running_app().look.roomy
        ids.seen.text, ids.rate.text = view.seen, view.rate if roomy else view.finish
        ids.meter.value = view.fraction
        self._say_noted()

    def _say_noted(self) -> None:
        """A line in the place of the count says what was noted and offers to undo it; no row above it moves."""
        act, ids, line = self.presenter, self.ids, self._noted
        ids.noted_words.text, undo = act.noted, ids.noted_undo
        undo.disabled, undo.opacity = not act.may_undo, 1 if act.may_undo else 0
        if act.noted and line.parent is None:
            ids.body.add_widget(line, index=0 if self._letters.parent is None else 1)
        elif not act.noted and line.parent is not None:
            ids.body.remove_widget(line)
        self._show_foot()

    def _show_foot(self) -> None:
        """The count, where neither the letters nor the line of what was noted need its room."""
        there = self._letters.parent is None and self._noted.parent is None
        self.ids.foot.height, self.ids.foot.opacity = (self.foot_height, 1) if there else (0, 0)

    def pad(self, there: bool) -> None:
        """Show the letters, or put them away; the count makes room for them."""
        super().pad(there)
        self._show_foot()

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"pedal": self.presenter.choose_first, **self.letter_keys("today")}
