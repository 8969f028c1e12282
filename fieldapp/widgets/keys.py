"""The hardware keyboard: names of keys, and the ring that moves over what can be pressed."""

from __future__ import annotations

from typing import Any

from kivy.uix.textinput import TextInput

from fieldapp.widgets.press import Pressable

KEY_NAMES = {
    8: "backspace",
    9: "tab",
    13: "enter",
    19: "pause",
    271: "enter",
    27: "escape",
    32: "space",
    127: "delete",
    273: "up",
    274: "down",
    275: "right",
    276: "left",
    278: "home",
    279: "end",
    280: "pageup",
    281: "pagedown",
    **{282 + n: f"f{n + 1}" for n in range(15)},
}


class KeyRing:
    """Tab and the arrows move the ring, Enter or Space presses what it is on."""

    def __init__(self, stage: Any) -> None:
        self._stage = stage
        self._on: Any = None

    def clear(self) -> None:
        """Take the ring off."""
        if self._on is not None and isinstance(self._on, Pressable):
            self._on.focused = False
        self._on = None

    @property
    def idle(self) -> bool:
        """Whether the ring is on nothing."""
        return self._on is None

    def typing(self) -> bool:
        """Whether a text line has the keyboard."""
        return any(line.focus for line in self._all(TextInput))

    def stop_typing(self) -> None:
        """Take the keyboard from the text line; the ring goes on from there."""
        for line in self._all(TextInput):
            if line.focus:
                self._on = line
                line.focus = False

    def take(self, name: str, modifiers: list[str], typing: bool = False) -> bool:
        """Use a key; True where it meant something."""
        if name == "tab":
            self._move(-1 if "shift" in modifiers else 1)
        elif typing:
            return False
        elif name in ("down", "right"):
            self._move(1)
        elif name in ("up", "left"):
            self._move(-1)
        elif name in ("enter", "space") and self._on is not None and self._on.get_root_window():
            on = self._on
            on.press()
        else:
            return name == "escape"
        return True

    def _all(self, kind: Any) -> list[Any]:
        front = self._stage.front
        if front is None:
            return []
        return [w for w in front.walk() if isinstance(w, kind) and w.opacity and not w.disabled]

    @staticmethod
    def _order(widget: Any) -> tuple[bool, int, float]:
        """Line by line from the top, from left to right; what only helps comes last."""
        x, y = widget.to_window(*widget.pos)
        return bool(getattr(widget, "aside", False)), -round(y + widget.height), x

    def _move(self, by: int) -> None:
        found = self._all((Pressable, TextInput))
        if not found:
            return
        found.sort(key=self._order)
        for line in found:
            if isinstance(line, TextInput) and line.focus:
                self._on = line
                line.focus = False
        at = found.index(self._on) if self._on in found else (-1 if by > 0 else 0)
        self.clear()
        self._on = found[(at + by) % len(found)]
        if isinstance(self._on, TextInput):
            self._on.focus = True
        else:
            self._on.focused = True
