"""The window is never larger than the screen: the app itself is started on small and on large virtual screens."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from fieldapp.platform.display import fitting

ROOT = Path(__file__).parents[2]

#: Starts the app as the command does, and says how large its window is once it is there.
PROGRAM = """
from fieldapp import app

set_up = app.set_kivy_up

def set_up_and_look(*options, **more):
    set_up(*options, **more)
    from kivy.clock import Clock

    def look(_dt):
        from kivy.app import App
        from kivy.core.window import Window

        wide, high = Window._win.window_size
        print("window", wide, high, "laid out on", int(Window.width), int(Window.height))
        print("screen", App.get_running_app().stage.name)
        App.get_running_app().stop()

    Clock.schedule_once(look, 0.5)

app.set_kivy_up = set_up_and_look
app.run()
"""


@pytest.mark.parametrize(
    ("screen", "size"),
    [
        (None, (1280, 800)),
        ((1920, 1080), (1280, 800)),
        ((1366, 728), (1280, 728)),
        ((800, 480), (800, 480)),
    ],
)
def test_a_window_is_as_large_as_wanted_or_as_the_screen(screen, size):
    assert fitting((1280, 800), screen) == size


@pytest.mark.window
@pytest.mark.skipif(shutil.which("xvfb-run") is None, reason="needs a virtual screen of another size")
@pytest.mark.parametrize(
    ("screen", "window"), [("800x480", "800 480"), ("1024x600", "1024 600"), ("1920x1080", "1280 800")]
)
def test_the_app_opens_no_window_larger_than_its_screen(tmp_path, screen, window):
    done = subprocess.run(
        ["xvfb-run", "-a", "-s", f"-screen 0 {screen}x24", sys.executable, "-c", PROGRAM],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT), "XDG_DATA_HOME": str(tmp_path / "data")},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert f"window {window} laid out on {window}" in done.stdout, done.stdout + done.stderr
    assert "screen welcome" in done.stdout


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere there is always a screen")
def test_without_a_screen_the_app_says_so_instead_of_drawing_where_nobody_sees_it(tmp_path):
    unseen = {"DISPLAY", "WAYLAND_DISPLAY", "SDL_VIDEODRIVER"}
    done = subprocess.run(
        [sys.executable, "-m", "fieldapp", "visit.book"],
        cwd=tmp_path,
        env={
            **{name: value for name, value in os.environ.items() if name not in unseen},
            "PYTHONPATH": str(ROOT),
            "XDG_DATA_HOME": str(tmp_path / "data"),
        },
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode == 3
    assert "There is no screen here" in done.stderr
