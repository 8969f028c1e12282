"""Opens a printed paper in the system's own viewer, which can print it. No Kivy."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

_OPENERS = ("xdg-open", "open")


def can_open() -> bool:
    """Whether this system has a viewer to ask."""
    return sys.platform == "win32" or any(map(shutil.which, _OPENERS))


def open_file(path: Path) -> None:
    """Show the file; does not wait for the viewer."""
    if sys.platform == "win32":
        os.startfile(path)
        return
    opener = next(filter(None, map(shutil.which, _OPENERS)), None)
    if opener is not None:
        subprocess.Popen([opener, str(path)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
