"""A screen with a list that letters narrow: a pad of letters that comes and goes, and the keyboard's. Glue only."""

from __future__ import annotations

from collections.abc import Callable
from string import ascii_lowercase
from typing import Any

from kivy.properties import StringProperty

from fieldapp.screens.stage import Screen
from fieldapp.widgets.pads_signs import ERASE, typing


class SearchScreen(Screen):
    """Its .kv rule names ``body`` and in it ``list``, the words ``empty`` and the pad ``letters``; its presenter has
    ``typed``, ``type`` and ``live``."""

    typed = StringProperty("")

    def on_kv_post(self, base: Any) -> None:
        # Held while they are off the screen.
        self._letters, self._empty = self.ids.letters.__self__, self.ids.empty.__self__
        self.ids.body.remove_widget(self._empty)

    def enter(self, **arguments: Any) -> None:
        self.pad(False)
        super().enter(**arguments)

    def refresh(self) -> None:
        self.typed = self.presenter.typed
        if self._letters.parent is not None:
            self._letters.live = self.presenter.live()

    def pad(self, there: bool) -> None:
        """Show the letters, or put them away."""
        if there and self._letters.parent is None:
            self.ids.body.add_widget(self._letters, index=0)
            self._letters.live = self.presenter.live()
        elif not there and self._letters.parent is not None:
            self.ids.body.remove_widget(self._letters)

    def say(self, words: str) -> None:
        """Why the list is empty, or not whole: said where its first row would be, below what is typed."""
        body, there = self.ids.body, self._empty.parent is not None
        self._empty.text = words
        if words and not there:
            body.add_widget(self._empty, index=body.children.index(self.ids.list.__self__) + 1)
        elif there and not words:
            body.remove_widget(self._empty)

    def turn_pad(self) -> None:
        """Show the letters if they are away, put them away if they are there."""
        self.pad(self._letters.parent is None)

    def letter(self, sign: str) -> None:
        """A letter of the pad or of the keyboard."""
        typed = self.presenter.typed
        self.presenter.type(typed[:-1] if sign == ERASE else typed + sign.lower())

    def letter_keys(self, back: str) -> dict[str, Callable[[], Any]]:
        """What the keys of letters do; Escape clears what is typed, then goes to the screen ``back``."""

        keys = typing(self.letter, f"{ascii_lowercase}'-")
        if self.presenter.typed:
            return {"escape": lambda: self.presenter.type(""), **keys}
        del keys["backspace"]
        return {"escape": lambda: self.session.go(back), **keys}
