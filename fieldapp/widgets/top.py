"""The bar on top of a screen: what it is, about whom, and the way to the rest."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.core.text import Label as CoreLabel
from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.widgets.fonts import SANS
from fieldapp.widgets.script_text import DOT

Builder.load_file(str(Path(__file__).with_name("top.kv")))


class Top(BoxLayout):
    """Title, second-rank words, a count, and the pill that opens the menu. ``back`` names a way back."""

    title = StringProperty("")
    about = StringProperty("")
    brief = StringProperty("")  # said instead of an ``about`` of which not even the first part fits
    count = StringProperty("")
    sign = StringProperty("")  # a second pill that only says something
    warns = BooleanProperty(False)  # the sign must not be overlooked
    pill = StringProperty("")
    back = StringProperty("")
    person = BooleanProperty(False)  # the title is a name: one that is ``long`` is smaller rather than cut
    long = BooleanProperty(False)

    def on_kv_post(self, base: Any) -> None:
        if not self.back:  # without a way back the title begins where everything else does
            self.remove_widget(self.ids.back)

    __events__ = ("on_go_back", "on_menu", "on_press_sign")

    @staticmethod
    def fitting(width: float, size: float, about: str, brief: str = "") -> str:
        """As many of the parts between dots as fit: a part is shown whole or not at all."""
        if width <= size * 5:
            return ""
        label, parts = CoreLabel(font_name=SANS, font_size=size), about.split(DOT)
        while len(parts) > 1 and label.get_extents(DOT.join(parts))[0] > width:
            parts.pop()
        said = DOT.join(parts)
        return brief if brief and label.get_extents(said)[0] > width else said

    def on_go_back(self) -> None:
        """The way back was pressed."""

    def on_menu(self) -> None:
        """The pill was pressed."""

    def on_press_sign(self) -> None:
        """The sign was pressed."""
