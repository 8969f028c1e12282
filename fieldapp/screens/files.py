"""Which files in a folder a screen may offer, and the folders beside them. No Kivy."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from os.path import sep
from pathlib import Path

LIMIT = 200


@dataclass(frozen=True, slots=True)
class Found:
    """A file or folder that can be chosen."""

    path: Path
    name: str
    folder: bool


def told_apart(file: Path) -> str:
    """A file's name with its folder's: every visit's book may have the same name."""
    return f"{file.name} · {file.parent.name}"


def offered(folder: Path, endings: Sequence[str]) -> list[Found]:
    """Folders first, then files with one of the endings, by name; an unreadable folder offers nothing."""
    try:
        inside = sorted(folder.iterdir(), key=lambda path: path.name.casefold())
    except OSError:
        return []
    seen = [path for path in inside if not path.name.startswith(".")]
    folders = [Found(path, path.name, True) for path in seen if path.is_dir()]
    files = [Found(path, path.name, False) for path in seen if path.is_file() and path.suffix in endings]
    return [*folders, *files][:LIMIT]


def broken_path(path: Path) -> str:
    """A path whose line ends before the file's name, not in it."""
    return f"{path.parent}{sep}\n{path.name}"
