"""Where one types: a text field with its name above, that learns nothing and suggests nothing."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.textinput import TextInput

from fieldapp.widgets.box import Band  # noqa: F401  (field.kv stands on both)
from fieldapp.widgets.press import Press  # noqa: F401

Builder.load_file(str(Path(__file__).with_name("field.kv")))


class Entry(TextInput):
    """The typing line itself: one line, no clipboard bubble, no learning keyboard."""

    rim = NumericProperty(1)

    def __init__(self, **options: Any) -> None:
        super().__init__(
            multiline=False,
            use_bubble=False,
            use_handles=False,
            keyboard_suggestions=False,
            write_tab=False,
            background_normal="",
            background_active="",
            **options,
        )

    def keyboard_on_key_down(self, window: Any, keycode: Any, text: str, modifiers: Any) -> bool:
        """Tab, Escape and the arrows up and down belong to the screen, not to the line."""
        if keycode[1] in ("tab", "escape", "up", "down"):
            return False
        return bool(super().keyboard_on_key_down(window, keycode, text, modifiers))


class TextField(BoxLayout):
    """A named text field. ``text`` is what was typed; ``entered`` fires with Enter.

    One that begins ``secret`` has a button beside it that shows what was typed, and hides it again.
    """

    label = StringProperty("")
    text = StringProperty("")
    hint = StringProperty("")
    secret = BooleanProperty(False)
    wrong = StringProperty("")  # what is wrong with it, in words

    __events__ = ("on_entered",)

    def on_kv_post(self, base: Any) -> None:
        if not self.secret:
            self.ids.line.remove_widget(self.ids.turn)

    def on_entered(self) -> None:
        """Enter was pressed in the field."""

    def take_focus(self) -> None:
        """Put the cursor here."""
        self.ids.entry.focus = True
