"""Registers the bundled fonts, and says which of them a line that is typed needs."""

from __future__ import annotations

from pathlib import Path

from kivy.core.text import LabelBase

from fieldapp.widgets.script_text import HAN, script_of

FOLDER = Path(__file__).parent.parent.parent / "assets" / "fonts"
SANS = "Quietbell Sans"
EAST_ASIAN = "Quietbell Han"  # with Latin letters too: a line that is typed has one font


def register() -> None:
    """Make the family known to Kivy, and make it the default so that no widget falls back to another."""
    regular, bold = (str(FOLDER / f"QuietbellSans-{weight}.ttf") for weight in ("Regular", "Bold"))
    for name in (SANS, "Roboto"):
        LabelBase.register(name, fn_regular=regular, fn_bold=bold, fn_italic=regular, fn_bolditalic=bold)
    han = str(FOLDER / "QuietbellHan-Regular.ttf")
    LabelBase.register(EAST_ASIAN, fn_regular=han)


def typed_in(text: str) -> str:
    """The font of a line that is typed."""
    return EAST_ASIAN if any(script_of(character) == HAN for character in text) else SANS
