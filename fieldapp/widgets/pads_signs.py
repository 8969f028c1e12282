"""The signs of the keypads, for presenters that know no Kivy."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from functools import partial
from typing import Any

DIGITS = "0123456789"
ERASE = "⌫"
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
EQUIPMENT = DIGITS + "-" + LETTERS


def typing(press: Callable[[str], Any], signs: Iterable[str] = DIGITS) -> dict[str, Callable[[], Any]]:
    """What a keyboard does where a pad has these signs: each key presses its own, Backspace the one that erases."""
    return {**{sign: partial(press, sign) for sign in signs}, "backspace": partial(press, ERASE)}
