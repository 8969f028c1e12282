"""Own keypads: numbers, and letters for finding a child. The system's keyboard, which covers half the screen
and learns names, is not needed for either."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout
from kivy.uix.widget import Widget

from fieldapp.widgets.pads_signs import ERASE, LETTERS
from fieldapp.widgets.press import Press
from fieldapp.widgets.theme import LEAST_TARGET

Builder.load_file(str(Path(__file__).with_name("pads.kv")))

MOST_ACROSS = 14
GAP = dp(6)


class PadKey(Press):
    """One key of a pad."""


class NumberPad(GridLayout):
    """Digits, a way back, and one more key whose sign the screen chooses (``extra``)."""

    extra = StringProperty("")

    __events__ = ("on_key",)

    def on_kv_post(self, base: Any) -> None:
        for sign in ("1", "2", "3", "4", "5", "6", "7", "8", "9", self.extra, "0", ERASE):
            key = PadKey(text=sign, disabled=not sign, opacity=1 if sign else 0)
            key.bind(on_release=lambda key: self.dispatch("on_key", key.text))
            if sign and sign == self.extra:
                self.bind(extra=key.setter("text"))
            self.add_widget(key)

    def on_key(self, sign: str) -> None:
        """A key was pressed."""


class LetterPad(BoxLayout):
    """The letters; those that lead nowhere, once ``live`` was set, are not offered."""

    live = ListProperty([])
    letters = StringProperty(LETTERS)

    __events__ = ("on_key",)

    def on_kv_post(self, base: Any) -> None:
        self._across = 0
        self._keys: dict[str, PadKey] = {}
        for sign in (*self.letters, ERASE):
            key = PadKey(text=sign)
            key.bind(on_release=lambda key: self.dispatch("on_key", key.text))
            self._keys[sign] = key
        self._lay(MOST_ACROSS)

    def on_width(self, *_ignored: Any) -> None:
        """As many keys beside each other as are still wide enough for a thumb."""
        if getattr(self, "_across", 0):
            self._lay(min(MOST_ACROSS, max(6, int((self.width + GAP) // (dp(LEAST_TARGET) + GAP)))))

    def _lay(self, across: int) -> None:
        if across == self._across:
            return
        self._across = across
        for line in self.children:
            line.clear_widgets()
        self.clear_widgets()
        look = App.get_running_app().look
        keys = list(self._keys.values())
        for start in range(0, len(keys), across):
            line = BoxLayout(spacing=GAP, size_hint_y=None, height=look.target if look.roomy else look.least)
            for key in keys[start : start + across]:
                line.add_widget(key)
            for _ in range(across - len(keys[start : start + across])):
                line.add_widget(Widget())
            self.add_widget(line)

    def on_live(self, _pad: Any, live: list[str]) -> None:
        for sign, key in self._keys.items():
            key.disabled = sign != ERASE and sign not in live

    def on_key(self, sign: str) -> None:
        """A key was pressed."""
