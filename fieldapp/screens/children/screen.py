"""The book's children: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.add_child.screen import ClassPlate
from fieldapp.screens.children.presenter import ChildrenPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.pads_signs import ERASE
from fieldapp.widgets.press import Press

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ChildrenScreen(Screen):
    """Kinds on one side, children on the other, letters to find one."""

    make = ChildrenPresenter
    presenter: ChildrenPresenter
    typed = StringProperty("")

    def on_kv_post(self, base: Any) -> None:
        self._letters = self.ids.letters.__self__  # held while it is off the screen

    def enter(self, **arguments: Any) -> None:
        self.pad(False)
        super().enter(**arguments)

    def refresh(self) -> None:
        view, ids = self.presenter.view(), self.ids
        ids.top.pill, self.typed = self.session.pill(), self.presenter.typed
        ids.tiles.show(view.tiles)
        ids.list.show(view.rows)
        ids.classes.text, ids.found.text, ids.empty.text = view.class_words, view.found, view.empty
        if self._letters.parent is not None:
            self._letters.live = self.presenter.live()

    def pad(self, there: bool) -> None:
        """Show the letters, or put them away."""
        if there and self._letters.parent is None:
            self.ids.body.add_widget(self._letters, index=0)
            self._letters.live = self.presenter.live()
        elif not there and self._letters.parent is not None:
            self.ids.body.remove_widget(self._letters)

    def turn_pad(self) -> None:
        """Show the letters or put them away."""
        self.pad(self._letters.parent is None)

    def letter(self, sign: str) -> None:
        """A letter of the pad or of the keyboard."""
        typed = self.presenter.typed
        self.presenter.type(typed[:-1] if sign == ERASE else typed + sign.lower())

    def choose_class(self) -> None:
        """Open the classes."""
        plate = ClassPlate(self.session.t("children.classes"))
        for name in ("", *self.presenter.classes()):
            words = name or self.session.t("next_child.all")
            key = Press(text=words, rank="chosen" if name == self.presenter.class_name else "quiet")
            key.bind(on_release=lambda _k, name=name: self._took_class(plate, name))
            plate.ids.classes.add_widget(key)
        self.session.lay(plate)

    def _took_class(self, plate: Any, name: str) -> None:
        plate.close()
        self.presenter.choose_class(name)

    def keys(self) -> dict[str, Callable[[], Any]]:
        keys: dict[str, Callable[[], Any]] = {}
        if not self.presenter.typed:
            keys["escape"] = lambda: self.session.go(self.presenter.back)
        else:
            keys["escape"] = lambda: self.presenter.type("")
            keys["backspace"] = lambda: self.letter(ERASE)
        for letter in "abcdefghijklmnopqrstuvwxyz'-":
            keys[letter] = lambda letter=letter: self.letter(letter)  # type: ignore[misc]
        return keys
