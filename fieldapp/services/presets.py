"""The protocols that ship with the app, and a protocol file of a team's own, read into ``Protocol``."""

from __future__ import annotations

import tomllib
from pathlib import Path

import assets
from shared.errors import Refused
from shared.hearing.protocol import Protocol

DEFAULT = "aaa-2011"


def preset_names() -> list[str]:
    """The names of all presets, the default first."""
    names = sorted(file.stem for file in assets.path("protocols").glob("*.toml"))
    return sorted(names, key=lambda name: name != DEFAULT)


def load_protocol(name: str) -> Protocol:
    """The preset of that name, or the protocol in the TOML file at that path.

    Raises ``Refused`` where there is neither, or where the file's rules make no sense (the field is named).
    """
    file = assets.path("protocols", f"{name}.toml") if name in preset_names() else Path(name)
    if file.suffix != ".toml" or not file.is_file():
        raise Refused(
            "There is no protocol of that name.",
            todo=f"Choose one of: {', '.join(preset_names())}; or give the path of a .toml file.",
        )
    try:
        data = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError):
        raise Refused(
            "The protocol file is not readable TOML.", todo="Copy a preset and edit that."
        ) from None
    return Protocol.from_dict(data)
