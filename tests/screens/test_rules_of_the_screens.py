"""What holds for every screen: presenters know no Kivy, nothing makes a sound, nothing is left in Kivy's own files."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
SCREENS = ROOT / "fieldapp" / "screens"


def test_presenters_know_no_kivy():
    modules = [f"fieldapp.screens.{file.parent.name}.presenter" for file in SCREENS.glob("*/presenter.py")]
    assert len(modules) > 20
    program = f"import sys\nfor name in {modules!r}: __import__(name)\nprint([m for m in sys.modules if m == 'kivy'])"
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == "[]"


def test_every_screen_is_three_files():
    for presenter in SCREENS.glob("*/presenter.py"):
        names = {file.name for file in presenter.parent.iterdir() if file.is_file()}
        assert {"presenter.py", "screen.py", "screen.kv"} <= names, presenter.parent.name


def test_nothing_can_make_a_sound():
    forbidden = ("kivy.core.audio", "SoundLoader", "winsound", "ossaudiodev", "vibrat", '\\a"')
    for file in (ROOT / "fieldapp").rglob("*.py"):
        text = file.read_text("utf-8")
        assert not [word for word in forbidden if word in text], file


def test_kivy_keeps_no_file_of_its_own(tmp_path):
    program = (
        "from pathlib import Path\n"
        "from fieldapp.app import set_kivy_up\n"
        f"set_kivy_up(Path({str(tmp_path)!r}))\n"
        "from kivy.logger import Logger\n"
        "Logger.warning('a name that must not be kept')\n"
    )
    environment = {**os.environ, "HOME": str(tmp_path / "home")}
    subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, env=environment, check=True, capture_output=True
    )
    left = [file for file in tmp_path.rglob("*") if file.is_file()]
    assert left == []
    assert (tmp_path / "kivy").stat().st_mode & 0o077 == 0


def test_colours_and_sizes_stand_in_the_theme_alone():
    for file in [*SCREENS.rglob("*.kv"), *(ROOT / "fieldapp" / "widgets").glob("*.kv")]:
        assert "#" not in "".join(
            line for line in file.read_text("utf-8").splitlines() if not line.lstrip().startswith("#")
        ), file
