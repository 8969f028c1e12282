"""The wheel holds everything that the app needs, and nothing else. It is built once, offline, from git's files.

The whole way (a folder of wheels, a clean environment, no network, the app on a screen) is
``demo/offline-install.sh``; it takes minutes and the network once, and is run by hand.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

HOUSE = Path(__file__).resolve().parents[2]
ROOMS = ("shared", "sync", "fieldapp", "assets")
# Read on the machine that builds a tablet's package, not by the app.
NOT_PACKAGED = tuple(f"fieldapp/platform/android/{part}" for part in ("recipes/", "java/", "xml/"))
NOT_PACKAGED += ("fieldapp/platform/android/buildozer.spec", "fieldapp/platform/android/stage.sh")


def listed(*folders: str) -> list[str]:
    """The files that git knows and that are there."""
    said = subprocess.run(
        ["git", "ls-files", "-z", *folders], cwd=HOUSE, capture_output=True, text=True, check=True
    ).stdout
    return [file for file in said.split("\0") if file and (HOUSE / file).is_file()]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> zipfile.ZipFile:
    """Built away from the repository, so that no build folder is left in it."""
    source = tmp_path_factory.mktemp("source")
    for file in [*listed(*ROOMS), "pyproject.toml", "README.md"]:
        (source / file).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(HOUSE / file, source / file)
    made = tmp_path_factory.mktemp("wheel")
    quietly = ["-q", "--disable-pip-version-check", "--no-deps", "--no-build-isolation", "--no-index"]
    ran = subprocess.run(
        [sys.executable, "-m", "pip", "wheel", *quietly, "-w", made, "."],
        cwd=source,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stdout + ran.stderr
    (file,) = made.glob("*.whl")
    assert file.name.endswith("-py3-none-any.whl")
    return zipfile.ZipFile(file)


def test_every_file_of_the_rooms_is_inside_and_no_other(wheel):
    inside = {name for name in wheel.namelist() if ".dist-info/" not in name}
    wanted = {file for file in listed(*ROOMS) if not file.startswith(NOT_PACKAGED)}
    assert wanted - inside == set(), "missing from the wheel: see package-data in pyproject.toml"
    assert inside - wanted == set(), "not the app's"


def test_each_kind_of_data_is_inside(wheel):
    """By example, so that an empty list of git's cannot hide a loss."""
    inside = set(wheel.namelist())
    assert {
        "fieldapp/screens/walk/screen.kv",
        "fieldapp/roster/titles.toml",
        "assets/protocols/aaa-2011.toml",
        "assets/letters/rescreen.es.toml",
        "assets/translations/en.toml",
        "assets/fonts/NotoSans-Regular.ttf",
        "assets/fonts/OFL.txt",
        "shared/vault/FORMAT.md",
    } <= inside


def test_the_command_is_there(wheel):
    (entry_points,) = [name for name in wheel.namelist() if name.endswith("/entry_points.txt")]
    assert "quietbell = fieldapp.cli:main" in wheel.read(entry_points).decode()
