"""The real ``quietbell`` command, called as a person would call it, each call shown on the terminal."""

from __future__ import annotations

import json
import os
import shlex
import signal
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from demo.at import KILL

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

    def __call__(
        self, *words: str | Path, off: timedelta = timedelta(0), kill: str = "", expect: int = 0
    ) -> str:
        """Run one command; gives its output.

        ``off`` is how wrong the clock of this command's device is; ``kill`` (``CHILD:N``) lets it crash after
        that child's N-th answer. Raises ``CommandFailed`` where it ends otherwise than ``expect`` says.
        """
        if self.shown:
            crash = "   (crashes here)" if kill else ""
            print(f"  {self.moment:%b %d %H:%M}  quietbell {shlex.join(map(str, words))}{crash}", flush=True)
        extra = {KILL: kill} if kill else {}
        expect = -signal.SIGKILL if kill else expect
        return self._run("demo.at", words, off, extra, expect)

    def by_hand(self, what: str, *words: str | Path, off: timedelta = timedelta(0)) -> str:
        """Something that people do on a screen, and no command does; ``what`` tells it in words."""
        if self.shown:
            print(f"  {self.moment:%b %d %H:%M}  {what}", flush=True)
        return self._run("demo.by_hand", words, off, {}, 0)

    def _run(
        self, module: str, words: Sequence[str | Path], off: timedelta, extra: dict[str, str], expect: int
    ) -> str:
        moment = (self.moment + off).isoformat(timespec="seconds")
        done = subprocess.run(
            [sys.executable, "-m", module, moment, *map(str, words)],
            cwd=self.folder,
            env=environment() | extra,
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

    def say(self, title: str) -> None:
        """A heading for the commands that follow."""
        if self.shown:
            print(f"\n{title}", flush=True)

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
