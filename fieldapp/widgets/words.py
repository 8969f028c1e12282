"""Text on the screen that cannot be pressed: words that wrap, a line that is cut, a tag as wide as its words."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.label import Label

from fieldapp.widgets.scripted import Scripted

Builder.load_file(str(Path(__file__).with_name("words.kv")))


class Text(Scripted, Label):
    """What all three share: the font, a colour by its name in the theme, and whether it is bold."""

    tone = StringProperty("ink")
    weight = BooleanProperty(False)


class Words(Text):
    """A text that wraps at its width and is as high as it needs to be, or takes no space without words."""

    def on_kv_post(self, base: Any) -> None:
        self.on_texture_size()

    def on_texture_size(self, *_ignored: Any) -> None:
        if self.size_hint_y is None:
            self.height = self.texture_size[1] if self.text else 0


class PathWords(Words):
    """Words with a path among them, ``said``, that breaks after a folder where it is wider than a line."""

    said = StringProperty("")


class OneLine(Text):
    """A text on one line, cut with an ellipsis where it does not fit."""


class Tag(Text):
    """A text on one line that is exactly as wide as its words, up to ``most``; then it is cut."""

    most = NumericProperty(0)

    def on_kv_post(self, base: Any) -> None:
        self.on_texture_size()

    def on_text(self, *_ignored: Any) -> None:
        self.text_size = None, None

    def on_most(self, *_ignored: Any) -> None:
        self.text_size = None, None
        self.on_texture_size()

    def on_texture_size(self, *_ignored: Any) -> None:
        wide = self.texture_size[0] if self.text else 0
        if self.most and wide > self.most + 1:
            self.text_size = self.most, self.height
            wide = self.most
        self.width = wide


class Named(BoxLayout):
    """A name, and right below it what is to be said of it."""

    name = StringProperty("")
    words = StringProperty("")


class Steady(FloatLayout):
    """One of several second-rank texts that can stand in a place, as high as the highest of them: what lies below
    never moves."""

    _texts: Sequence[str] = ()

    def say(self, text: str, texts: Sequence[str]) -> None:
        """Show ``text``, which is one of ``texts``."""
        if texts != self._texts:
            self._texts = texts
            self.clear_widgets()
            for each in texts:
                words = Words(text=each, markup=True, tone="soft", pos_hint={"x": 0, "top": 1})
                words.bind(height=self._measure)
                self.add_widget(words)
        for words in self.children:
            words.opacity = 1 if words.text == text else 0

    def _measure(self, *_ignored: Any) -> None:
        self.height = max(words.height for words in self.children)
