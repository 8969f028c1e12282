"""Drives the app's real window the way a hand does: touches, keys, and a look at what is on the screen.

The windowed tests and the gallery stand on it. Import it before anything of Kivy.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from fieldapp.app import set_kivy_up

_HOME = Path(tempfile.mkdtemp(prefix="quietbell-window-"))
set_kivy_up(_HOME, (1280, 800))

from kivy.base import EventLoop  # noqa: E402
from kivy.clock import Clock  # noqa: E402
from kivy.core.window import Window  # noqa: E402
from kivy.metrics import Metrics  # noqa: E402
from kivy.tests.common import UnitTestTouch  # noqa: E402
from kivy.uix.label import Label  # noqa: E402

from fieldapp.screens.quietbell import QuietbellApp  # noqa: E402
from fieldapp.screens.session import Session  # noqa: E402
from fieldapp.widgets.press import Pressable  # noqa: E402


class Hand:
    """One app on the window at a time; starting another takes the one before away."""

    def __init__(
        self,
        session: Session,
        size: tuple[int, int] = (1280, 800),
        density: float = 1.0,
        first: str = "unlock",
    ) -> None:
        for child in list(Window.children):
            Window.remove_widget(child)
        Metrics.reset_metrics()
        Metrics.density, Metrics.dpi = density, 160.0 * density
        if tuple(Window.size) != size:
            Window.size = size
        self.session = session
        self.app = QuietbellApp(session, first)
        if EventLoop.status == "idle":
            EventLoop.ensure_window()
            EventLoop.start()
        self.frames(2)
        self.app._app_window = Window
        self.app._running_app = None
        type(self.app).__base__._running_app = self.app
        Window.add_widget(self.app.build())
        self.frames()

    # -- time ------------------------------------------------------------------------------------

    def frames(self, count: int = 3) -> None:
        """Let some frames pass."""
        for _ in range(count):
            EventLoop.idle()

    def until(self, fits: Callable[[], Any], most: int = 2000) -> None:
        """Let frames pass until something is so; gives up after ``most`` frames."""
        for _ in range(most):
            if fits():
                self.frames(2)
                return
            EventLoop.idle()
        raise AssertionError(f"nothing came of it on the screen {self.screen!r}")

    # -- looking ---------------------------------------------------------------------------------

    @property
    def screen(self) -> str:
        """The name of the present screen."""
        return str(self.app.stage.name)

    @property
    def front(self) -> Any:
        """The topmost sheet, or the screen."""
        return self.app.stage.front

    def widgets(self, kind: Any = Label) -> Iterator[Any]:
        """Everything of a kind that can be seen, topmost sheet only."""
        for widget in self.front.walk(restrict=True):
            if isinstance(widget, kind) and widget.opacity and widget.width > 1 and widget.height > 1:
                yield widget

    def words(self) -> list[str]:
        """All words on the screen."""
        return [widget.text for widget in self.widgets() if widget.text]

    def sees(self, text: str) -> bool:
        """Whether some words on the screen hold this text."""
        return any(text in words for words in self.words())

    def photograph(self, path: Path) -> Path:
        """Write the window to a PNG file."""
        self.frames()
        path.parent.mkdir(parents=True, exist_ok=True)
        made = Window.screenshot(name=str(path))
        os.replace(made, path)
        return path

    # -- touching --------------------------------------------------------------------------------

    def pressable(self, text: str) -> Any:
        """What can be pressed and holds this text: itself, or a text within it."""
        exact = [w for w in self.widgets(Pressable) if self._said(w) == text]
        found = exact or [w for w in self.widgets(Pressable) if text in self._said(w)]
        found = [w for w in found if not w.disabled] or found
        assert found, f"nothing to press says {text!r}; on the screen: {self.words()}"
        return found[0]

    def _said(self, widget: Any) -> str:
        return " ".join(w.text for w in widget.walk(restrict=True) if isinstance(w, Label) and w.text)

    def touch(self, what: str | Any, frames: int = 3) -> None:
        """Lay a finger on the middle of something and lift it again."""
        widget = self.pressable(what) if isinstance(what, str) else what
        x, y = widget.to_window(*widget.center)
        touch = UnitTestTouch(x, y)
        touch.touch_down()
        EventLoop.idle()
        touch.touch_up()
        self.frames(frames)

    def key(self, name: str) -> None:
        """Press a hardware key by its name or letter."""
        from fieldapp.widgets.keys import KEY_NAMES

        codes = {name: code for code, name in KEY_NAMES.items()}
        code = codes.get(name) or ord(name)
        Window.dispatch("on_key_down", code, 0, name if len(name) == 1 else "", [])
        Window.dispatch("on_key_up", code, 0)
        self.frames()

    def type(self, text: str) -> None:
        """Type into the field that has the cursor."""
        for letter in text:
            Window.dispatch("on_textinput", letter)
        self.frames()

    def close(self) -> None:
        """Take the app off the window."""
        Clock.unschedule(self.app.stage._idle)
        self.session.close()
        for child in list(Window.children):
            Window.remove_widget(child)
