"""Registers the bundled fonts and says which characters they have."""

from __future__ import annotations

from pathlib import Path

from kivy.core.text import LabelBase

FOLDER = Path(__file__).parent.parent.parent / "assets" / "fonts"
SANS = "Quietbell Sans"


def register() -> None:
    """Make the family known to Kivy, and make it the default so that no widget falls back to another."""
    regular, bold = (str(FOLDER / f"QuietbellSans-{weight}.ttf") for weight in ("Regular", "Bold"))
    for name in (SANS, "Roboto"):
        LabelBase.register(name, fn_regular=regular, fn_bold=bold, fn_italic=regular, fn_bolditalic=bold)
