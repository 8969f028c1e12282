"""The real ``quietbell`` command, called as a person would call it, each call shown on the terminal."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

PASSPHRASE = "seven quiet herons"


class CommandFailed(Exception):
    """A command ended otherwise than the demo needs."""


@dataclass(slots=True)
class Quietbell:
    """Calls ``quietbell`` in ``folder``, so that the lines on the terminal stay short.

    ``moment`` is what the device's clock says: it is set to the story's time before a command and goes on
    by itself a little with each.
    """

    folder: Path
    moment: datetime
    shown: bool = True

    def __call__(self, *words: str | Path, off: timedelta = timedelta(0), expect: int = 0) -> str:
        """Run one command; gives its output. ``off`` is how wrong the clock of this command's device is.

        Raises ``CommandFailed`` where the command ends with another status than ``expect``.
        """
        if self.shown:
            print(f"  {self.moment:%b %d %H:%M}  quietbell {shlex.join(map(str, words))}", flush=True)
        moment = (self.moment + off).isoformat(timespec="seconds")
        done = subprocess.run(
            [sys.executable, "-m", "demo.at", moment, *map(str, words)],
            cwd=self.folder,
            env=environment(),
            capture_output=True,
            text=True,
            encoding="utf-8",
            stdin=subprocess.DEVNULL,
        )
        self.moment += timedelta(seconds=20)
        if done.returncode != expect:
            raise CommandFailed(
                f"quietbell {shlex.join(map(str, words))} ended with {done.returncode}, not {expect}:\n"
                f"{done.stdout}{done.stderr}"
            )
        return done.stdout if expect == 0 else done.stderr

    def json(self, *words: str | Path) -> Any:
        """Run one command with ``--json`` and read its answer."""
        return json.loads(self(*words, "--json"))


def environment() -> dict[str, str]:
    """The environment of every command: the demo's passphrase, the repository importable, no window."""
    here = str(Path(__file__).resolve().parent.parent)
    path = os.pathsep.join(filter(None, (here, os.environ.get("PYTHONPATH", ""))))
    return {
        **os.environ,
        "QUIETBELL_PASSPHRASE": PASSPHRASE,
        "PYTHONPATH": path,
        "PYTHONIOENCODING": "utf-8",
        "KIVY_NO_ARGS": "1",
        "KIVY_NO_CONSOLELOG": "1",
    }
