"""The app's start as on an Android tablet, run in a process of its own.

``python -OO android_start.py [--window] [FOLDER]``; FOLDER holds the app's rooms, as ``stage.sh`` lays them out for
the package (this repository unless given).

What Android's Python lacks cannot be imported here, nor can a package that is not on the tablet
(``fieldapp/platform/android/packages.toml``); docstrings and assertions are gone, as python-for-android sets
``PYTHONOPTIMIZE=2``. Then every module of the app is imported, and a small visit is played through: book,
handout, tablet store, one child, return, gathered, printed. With ``--window`` the screens are imported too,
which needs a display. Prints the versions it ran with.
"""

from __future__ import annotations

import importlib
import importlib.abc
import io
import os
import pkgutil
import sys
import tempfile
import tomllib
from collections.abc import Iterator, Sequence
from datetime import date
from importlib import metadata
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType

REPOSITORY = Path(__file__).resolve().parents[2]
HOUSE = next((Path(word).resolve() for word in sys.argv[1:] if not word.startswith("-")), REPOSITORY)
PACKAGES = REPOSITORY / "fieldapp" / "platform" / "android" / "packages.toml"
OURS = {"shared", "sync", "fieldapp", "assets"}

# Modules whose page in the library reference of CPython 3.14 says "not Android" (from memory), and below them the
# folders that the python3 recipe of python-for-android 2026.05.09 leaves out (read: ``stdlib_dir_blacklist``), what
# it configures away (read: ``--without-readline``, no bzip2 header) and what needs a recipe that is not asked for.
NOT_ON_ANDROID = {
    *("curses", "_curses", "grp", "multiprocessing", "_multiprocessing", "readline", "venv", "turtle", "nis"),
    *("crypt", "spwd", "ossaudiodev", "winreg", "msvcrt", "_winapi", "winsound"),
    *("test", "tests", "lib2to3", "ensurepip", "idlelib", "tkinter", "_tkinter"),
    *("bz2", "_bz2", "lzma", "_lzma", "_gdbm", "_dbm"),
}  # fmt: skip


class Blocker(importlib.abc.MetaPathFinder):
    """Refuses every module that would not be there."""

    def __init__(self, allowed: set[str]) -> None:
        self.allowed = allowed
        self.refused: set[str] = set()

    def find_spec(
        self, name: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        top = name.partition(".")[0]
        if top in NOT_ON_ANDROID or (top not in sys.stdlib_module_names and top not in self.allowed):
            self.refused.add(top)
            raise ModuleNotFoundError(f"No module named {name!r} on the tablet", name=name)
        return None


def tops_on_the_tablet() -> set[str]:
    """What the packages on the tablet can be imported as."""
    wanted = {name.replace("-", "_") for name in tomllib.loads(PACKAGES.read_text("utf-8"))["packages"]}
    tops = set()
    for top, distributions in metadata.packages_distributions().items():
        if any(each.lower().replace("-", "_").replace(".", "_") in wanted for each in distributions):
            tops.add(top)
    return tops


def modules_of_the_app(window: bool) -> Iterator[str]:
    """Every module's name; without ``window`` only those that stand without Kivy."""
    for room in sorted(OURS):
        yield room
        for found in pkgutil.walk_packages([str(HOUSE / room)], f"{room}."):
            name = found.name
            if ".recipes" in name or name.endswith((".__main__", ".android.main", "fonts.build")):
                continue  # run, not imported; or on the machine that builds
            source = HOUSE / Path(*name.split("."))
            file = source / "__init__.py" if source.is_dir() else source.with_suffix(".py")
            needs_kivy = "kivy" in file.read_text("utf-8") and file.name != "app.py"
            if window or not (needs_kivy or ".widgets" in name or name.endswith(".screen")):
                yield name


def play(folder: Path) -> None:
    """A visit of one child, from the roster to the letter."""
    from openpyxl import Workbook

    from fieldapp.cli import main
    from fieldapp.roster import read_roster
    from shared.vault.keys import ARGON2ID, usual_cost

    if usual_cost() != ARGON2ID:
        raise SystemExit("This OpenSSL has no Argon2id.")
    book = Workbook()
    rows = [
        ["Student ID", "First Name", "Last Name", "Birth Date", "Grade", "Homeroom"],
        ["S-1", "Wren", "Oak", "2017-05-02", "3", "3B"],
    ]
    for row in rows:
        book.active.append(row)
    book.save(folder / "roster.xlsx")
    if len(read_roster(folder / "roster.xlsx", today=date(2026, 10, 14)).rows) != 1:
        raise SystemExit("The spreadsheet was not read.")

    script = [
        '{"at": "2026-10-14T08:30:00-05:00", "do": "sign-in", "screener": "MK"}',
        '{"do": "ready", "audiometer": "AM-04", "earphones": "EP-04", "calibrated": "2026-08-20",'
        ' "listening": {"right": [1000, 2000, 4000], "left": [1000, 2000, 4000]},'
        ' "own_thresholds": {"right": {"1000": 5, "2000": 5, "4000": 0}, "left": {"1000": 10, "2000": 5, "4000": 5}}}',
        '{"do": "screen", "child": "S-1", "answers": "+++-++/+++-++"}',
    ]
    (folder / "day.jsonl").write_text("\n".join(script), "utf-8")
    os.environ["QUIETBELL_PASSPHRASE"] = "four unrelated paper words"
    steps = [
        "prepare visit.book --roster roster.xlsx --school Quillmarsh --protocol aaa-2011 --date 2026-10-14",
        "handout visit.book --tablet A --out A.handout",
        "receive A.handout --store A.store",
        "play A.store day.jsonl",
        "give-back A.store --out A.return",
        "gather visit.book A.return",
        "papers visit.book --out papers",
        "export visit.book --format fhir --out exports",
        "status visit.book --json",
    ]
    os.chdir(folder)
    said, sys.stdout = sys.stdout, io.StringIO()
    try:
        for step in steps:
            status = main(step.split())
            if status:
                raise SystemExit(f"quietbell {step}: exit status {status}")
        last = sys.stdout.getvalue()
    finally:
        sys.stdout = said
    if '"rescreen": 1' not in last:
        raise SystemExit("The child who missed a tone twice is not on the rescreen list.")


def main() -> None:
    window = "--window" in sys.argv
    allowed = OURS | tops_on_the_tablet()
    for name in list(sys.modules):  # what Python itself brought in before
        if name.partition(".")[0] in NOT_ON_ANDROID:
            del sys.modules[name]
    blocker = Blocker(allowed)
    sys.meta_path.insert(0, blocker)
    sys.path.insert(0, str(HOUSE))
    with tempfile.TemporaryDirectory() as folder:
        if window:
            from fieldapp.app import set_kivy_up

            set_kivy_up(Path(folder), (1280, 800))
        names = list(modules_of_the_app(window))
        for name in names:
            importlib.import_module(name)
        play(Path(folder))
        os.chdir(HOUSE)
    from cryptography.hazmat.backends.openssl import backend

    versions = [
        f"{name} {metadata.version(name)}" for name in ("cryptography", "reportlab", "pillow", "kivy")
    ]
    optimized = "" if __doc__ else ", without docstrings and assertions"
    print(f"{len(names)} modules, a visit: all right{optimized}")
    print(", ".join([*versions, backend.openssl_version_text()]))
    print(f"asked for and not there: {', '.join(sorted(blocker.refused)) or 'nothing'}")


if __name__ == "__main__":
    main()
