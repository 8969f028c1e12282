"""The demo's run: ``demo/run.sh [--day] [--no-window] [FOLDER]``.

Without ``--day`` the whole invented district is played (``story``); with it only one school's screening day.
The numbers on the page are the app's own answers; each is compared with the recount of the scripts, child by
child. A difference ends the demo with status 1.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

from demo.commands import PASSPHRASE, CommandFailed, environment
from demo.one_day import play_day, summary
from demo.story import play_district
from demo.story_page import page

_MARK = ".quietbell-demo"


def main(arguments: Sequence[str] | None = None) -> int:
    """Play the demo into a folder; gives the exit status."""
    options = _parser().parse_args(arguments)
    folder: Path = options.folder.resolve()
    try:
        fresh_folder(folder)
        if options.day:
            day = play_day(folder)
            text, faults, book = summary(day), day.faults, "lead.book"
        else:
            district = play_district(folder)
            text, faults, book = page(district), district.faults, district.visits[0].book
    except CommandFailed as failed:
        print(failed, file=sys.stderr)
        return 1
    (folder / "summary.txt").write_text(text, "utf-8")
    print(text)
    if faults:
        return 1
    print(f"Everything is in {folder}. The passphrase of every store: {PASSPHRASE}")
    if not options.no_window and (os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY")):
        print("Opening the lead's book.")
        return subprocess.run(
            [sys.executable, "-m", "fieldapp", book], cwd=folder, env=environment()
        ).returncode
    return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="demo/run.sh", description="An invented district's screening, through the real commands."
    )
    parser.add_argument("folder", nargs="?", type=Path, default=Path("out/demo"), help="default: out/demo")
    parser.add_argument("--day", action="store_true", help="only one school's first screening day")
    parser.add_argument("--no-window", action="store_true", help="do not open the app at the end")
    return parser


def fresh_folder(folder: Path) -> None:
    """An empty folder for the demo; an older demo is cleared away, anything else is left alone."""
    if folder.exists() and any(folder.iterdir()):
        if not (folder / _MARK).exists():
            raise CommandFailed(f"{folder} holds something else than an earlier demo. Name another folder.")
        shutil.rmtree(folder)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / _MARK).touch()


if __name__ == "__main__":
    sys.exit(main())
