"""The real ``quietbell`` command, run in a folder as a person runs it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from tests.facts import PASSPHRASE


def run_command(
    folder: Path, *words: object, passphrase: str = PASSPHRASE, status: int = 0, **more: str
) -> str:
    """Run it; gives what it printed, or what it complained of where another exit status is expected.

    ``more``: further variables of its environment.
    """
    done = subprocess.run(
        [sys.executable, "-m", "fieldapp", *map(str, words)],
        cwd=folder,
        env={**os.environ, "QUIETBELL_PASSPHRASE": passphrase, "PYTHONPATH": os.getcwd(), **more},
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )
    assert "Traceback" not in done.stderr
    assert done.returncode == status, done.stdout + done.stderr
    return done.stdout if status == 0 else done.stderr
