"""Reading and writing whole files, with errors for the person at the screen."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path

from shared.errors import Refused, WriteRefused

LARGEST = 512 * 1024 * 1024
_NEW_FILE = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0)  # Windows would mend line ends


def read_whole(file: Path, largest: int = LARGEST) -> bytes:
    """The bytes of a file; raises ``Refused`` where it cannot be read or is larger than ``largest`` bytes."""
    try:
        if file.stat().st_size > largest:
            raise Refused("The file is far larger than any file of Quietbell.", kept="Nothing was changed.")
        return file.read_bytes()
    except OSError as error:
        raise Refused(
            f"The file cannot be read ({(error.strerror or 'unknown fault').lower()}).",
            kept="Nothing was changed.",
            todo="Check that it is there and may be read.",
        ) from None


def write_whole(file: Path, data: bytes) -> None:
    """Write a file whole or not at all, synced to disk; readable by its owner only."""
    half = file.with_name(f".{file.name}.part")
    try:
        file.parent.mkdir(parents=True, exist_ok=True)
        with open(os.open(half, _NEW_FILE, 0o600), "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        os.replace(half, file)
    except OSError as error:
        with contextlib.suppress(OSError):
            half.unlink()
        raise WriteRefused(
            f"The file cannot be written ({(error.strerror or 'unknown fault').lower()}).",
            kept="Nothing was lost.",
            todo="Make room or choose another place, then try again.",
        ) from None
