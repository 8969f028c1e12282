"""Data files that ship with the app: fonts, icons, protocols, letters, translations. No code but this."""

from __future__ import annotations

from pathlib import Path

FOLDER = Path(__file__).resolve().parent


def path(*parts: str) -> Path:
    """The path of a bundled data file, e.g. ``path("protocols", "aaa-2011.toml")``."""
    return FOLDER.joinpath(*parts)
