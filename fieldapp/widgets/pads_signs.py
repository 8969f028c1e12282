"""The signs of the keypads, for presenters that know no Kivy."""

from __future__ import annotations

ERASE = "⌫"
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
EQUIPMENT = "0123456789-" + LETTERS
