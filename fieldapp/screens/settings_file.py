"""The tablet's own settings: hand, text size, language, contrast, lock, pedal, and which files were opened here.

Nothing about any child or person; of the files only where they lie.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any

CHOICES: dict[str, tuple[Any, ...]] = {
    "language": ("en", "es"),
    "hand": ("right", "left"),
    "palette": ("calm", "stark"),
    "text_scale": (1.0, 1.15, 1.3),
    "lock_minutes": (2, 5, 10),
}

#: So many opened files are remembered.
MOST_OPENED = 5


@dataclass(frozen=True, slots=True)
class Settings:
    """What the screener chose. ``pedal`` is the name of the key that the foot pedal sends; ``opened`` are the paths
    of the books and stores opened last, the newest first."""

    language: str = "en"
    hand: str = "right"
    palette: str = "calm"
    text_scale: float = 1.0
    lock_minutes: int = 5
    pedal: str = "pagedown"
    opened: tuple[str, ...] = ()


def spoken_here(environment: Mapping[str, str]) -> str:
    """The language the system is set to, by POSIX's order of its variables, where the app speaks it; else English."""
    found = next(
        (environment[name] for name in ("LC_ALL", "LC_MESSAGES", "LANG") if environment.get(name)), ""
    )
    language = found[:2].lower()
    return language if language in CHOICES["language"] else "en"


def read(path: Path | None, language: str = "en") -> Settings:
    """The settings in a file; what is missing or makes no sense is as at first, in this language."""
    try:
        data = json.loads(path.read_text("utf-8")) if path else {}
    except (OSError, ValueError):
        data = {}
    found: dict[str, Any] = {}
    for field in fields(Settings):
        value = data.get(field.name) if isinstance(data, dict) else None
        if field.name == "opened":
            paths = value if isinstance(value, list) else []
            found["opened"] = tuple(path for path in paths if isinstance(path, str) and path)[:MOST_OPENED]
        elif value in CHOICES[field.name] if field.name in CHOICES else isinstance(value, str) and value:
            found[field.name] = value
    return Settings(**{"language": language, **found})


def write(path: Path | None, settings: Settings) -> None:
    """Keep the settings; a folder that cannot be written to is no reason to stop a screening."""
    if path is None:
        return
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        fresh = path.with_suffix(".new")
        fresh.write_text(json.dumps(asdict(settings)), "utf-8")
        os.replace(fresh, path)
    except OSError:
        return
