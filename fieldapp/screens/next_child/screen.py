"""The list's glue: classes on one side, children on the other, letters to find one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import NumericProperty, StringProperty

from fieldapp.screens.next_child.presenter import ChildMenu, NextChildPresenter, Way
from fieldapp.screens.stage import Screen
from fieldapp.widgets.pads_signs import ERASE
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


class NextChildScreen(Screen):
    """Who is next?"""

    make = NextChildPresenter
    presenter: NextChildPresenter
    rests = True
    foot_height = NumericProperty(48)
    typed = StringProperty("")

    def on_kv_post(self, base: Any) -> None:
        # Held here while they are off the screen.
        self._letters, self._noted = self.ids.letters.__self__, self.ids.noted.__self__
        self.ids.body.remove_widget(self._noted)
        self.presenter.show_menu = lambda menu: self.session.lay(ChildPlate(menu))

    def enter(self, **arguments: Any) -> None:
        self.pad(False)
        super().enter(**arguments)

    def refresh(self) -> None:
        view, ids = self.presenter.view(), self.ids
        ids.top.about, ids.top.sign, ids.top.pill = view.about, view.sign, self.session.pill()
        self.typed = self.presenter.typed
        ids.tiles.show(view.tiles)
        ids.list.show(view.rows)
        ids.empty.text = view.empty or view.full
        roomy = App.get_running_app().look.roomy
        ids.seen.text, ids.rate.text = view.seen, view.rate if roomy else view.finish
        ids.meter.value = view.fraction
        if self._letters.parent is not None:
            self._letters.live = self.presenter.live()
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
        """Show the letters, or put them away."""
        ids, letters = self.ids, self._letters
        if there and letters.parent is None:
            ids.body.add_widget(letters, index=0)
            letters.live = self.presenter.live()
        elif not there and letters.parent is not None:
            ids.body.remove_widget(letters)
        self._show_foot()

    def turn_pad(self) -> None:
        """Show the letters or put them away."""
        self.pad(self._letters.parent is None)

    def letter(self, sign: str) -> None:
        """A letter of the pad."""
        typed = self.presenter.typed
        self.presenter.type(typed[:-1] if sign == ERASE else typed + sign.lower())

    def keys(self) -> dict[str, Callable[[], Any]]:
        keys: dict[str, Callable[[], Any]] = {"pedal": self.presenter.choose_first}
        if not self.presenter.typed:
            keys["escape"] = lambda: self.session.go("today")
        else:
            keys["escape"] = lambda: self.presenter.type("")
            keys["backspace"] = lambda: self.letter(ERASE)
        for letter in "abcdefghijklmnopqrstuvwxyz'-":
            keys[letter] = lambda letter=letter: self.letter(letter)  # type: ignore[misc]
        return keys
