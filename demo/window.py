"""Drives the app's real window the way a hand does: touches, keys, and a look at what is on the screen.

The windowed tests and the gallery stand on it. Import it before anything of Kivy.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from fieldapp.app import set_kivy_up

_PATIENCE = 30.0  # seconds
_HOME = Path(tempfile.mkdtemp(prefix="quietbell-window-"))
set_kivy_up(_HOME, (1280, 800))

from kivy.base import EventLoop  # noqa: E402
from kivy.clock import Clock  # noqa: E402
from kivy.core.window import Window  # noqa: E402
from kivy.lang.parser import global_idmap  # noqa: E402
from kivy.metrics import Metrics  # noqa: E402
from kivy.tests.common import UnitTestTouch  # noqa: E402
from kivy.uix.label import Label  # noqa: E402
from kivy.uix.scrollview import ScrollView  # noqa: E402

from fieldapp.screens.quietbell import QuietbellApp  # noqa: E402
from fieldapp.screens.session import Session  # noqa: E402
from fieldapp.widgets.press import Pressable  # noqa: E402


def _overlap(
    one: tuple[float, float, float, float], other: tuple[float, float, float, float], slack: float = 3
) -> bool:
    return (
        min(one[2], other[2]) - max(one[0], other[0]) > slack
        and min(one[3], other[3]) - max(one[1], other[1]) > slack * 2
    )


def _read(label: Any) -> str:
    """The words of a label; what keeps a line together is a space to who reads it."""
    return str(label.text).replace("\u00a0", " ")


def _above(widget: Any) -> list[Any]:
    """What a widget lies in, innermost first."""
    found = []
    while widget.parent is not None and widget.parent is not widget:
        widget = widget.parent
        found.append(widget)
    return found


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
        # The name ``app`` in .kv files remembers the first app that it met.
        object.__setattr__(global_idmap["app"], "_obj", self.app)
        Window.add_widget(self.app.build())
        self.frames()

    # -- time ------------------------------------------------------------------------------------

    def frames(self, count: int = 3) -> None:
        """Let some frames pass."""
        for _ in range(count):
            EventLoop.idle()

    def until(self, fits: Callable[[], Any], most: int = 2000) -> None:
        """Let frames pass until something is so; gives up after ``most`` frames, and not before a busy machine may
        have done what is waited for beside the screen."""
        patience = time.monotonic() + _PATIENCE
        while most > 0 or time.monotonic() < patience:
            if fits():
                self.frames(2)
                return
            EventLoop.idle()
            most -= 1
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
        """All words on the screen, as one reads them: a space that keeps a line together is a space."""
        return [_read(widget) for widget in self.widgets() if widget.text]

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

    # -- judging ---------------------------------------------------------------------------------

    def faults(self) -> list[str]:
        """What is wrong with the look of the screen: targets too small, words cut, outside or over each other."""
        self.frames()
        found = [*self._small_targets(), *self._crowded_targets()]
        boxes: list[tuple[str, Any, tuple[float, float, float, float]]] = []
        for label in self.widgets():
            if not label.text.strip() or self._faint(label):
                continue
            wide, high = label.texture_size
            # A line of text has empty space above and below its letters.
            if wide > label.width + 2 or high > label.height + label.font_size * 0.42:
                found.append(f"words larger than their place: {label.text!r}")
            if isinstance(label, Pressable) and wide > label.width - 8 * Metrics.density:
                found.append(f"words at the edge of a button: {label.text!r}")
            if self._breaks_a_word(label):
                found.append(f"a word broken: {label.text!r}")
            if label.font_size < 17.9 * Metrics.density:
                found.append(f"text below 18 sp: {label.text!r}")
            box = self._seen(label, wide, high)
            if box is not None:
                boxes.append((label.text, label, box))
        for at, (text, label, box) in enumerate(boxes):
            if box[0] < -2 or box[1] < -2 or box[2] > Window.width + 2 or box[3] > Window.height + 2:
                found.append(f"words outside the screen: {text!r}")
            for other_text, other, other_box in boxes[at + 1 :]:
                if _overlap(box, other_box) and label.parent is not other:
                    found.append(f"words over each other: {text!r} and {other_text!r}")
        return found

    def _breaks_a_word(self, label: Any) -> bool:
        room = label.text_size[0]
        if not room or label.shorten or label.markup:
            return False
        longest = max(label.text.split(), key=len, default="")
        plain = longest.isalpha() and longest.isascii()
        return plain and label._label.get_extents(longest)[0] > room + 1

    def _small_targets(self) -> Iterator[str]:
        least, answer = 48 * Metrics.density - 0.5, 12 / 25.4 * Metrics.dpi - 0.5
        for target in self.widgets(Pressable):
            if self._faint(target):
                continue
            wide, high = target.size
            said = self._said(target)
            if wide < least or high < least:
                yield f"a target below 48 dp: {said!r}, {wide / Metrics.density:.0f} x {high / Metrics.density:.0f}"
            if target.answer and (high < answer or wide < answer):
                yield f"an answer target below 12 mm: {said!r}"

    def _crowded_targets(self) -> Iterator[str]:
        """Targets that reach out of the window, or lie over each other, where they are not scrolled away."""
        placed = []
        for target in self.widgets(Pressable):
            if self._faint(target) or any(isinstance(parent, ScrollView) for parent in _above(target)):
                continue
            left, low = target.to_window(*target.pos)
            box = (left, low, left + target.width, low + target.height)
            if box[0] < -2 or box[1] < -2 or box[2] > Window.width + 2 or box[3] > Window.height + 2:
                yield f"a target outside the screen: {self._said(target)!r}"
            placed.append((target, box))
        for at, (one, box) in enumerate(placed):
            for other, other_box in placed[at + 1 :]:
                if _overlap(box, other_box, 2) and one not in _above(other) and other not in _above(one):
                    yield f"targets over each other: {self._said(one)!r} and {self._said(other)!r}"

    def _faint(self, widget: Any) -> bool:
        while widget is not None and widget is not self.front.parent:
            if not widget.opacity:
                return True
            widget = widget.parent
        return False

    def _seen(self, label: Any, wide: float, high: float) -> tuple[float, float, float, float] | None:
        """Where the words are on the window, cut to the scrolls they lie in; None where scrolled away."""
        x, y = label.to_window(*label.center)
        left = label.to_window(*label.pos)[0] if label.halign == "left" else x - wide / 2
        ink = high / 2 - label.font_size * 0.2
        box = [left, y - ink, left + min(wide, label.width), y + ink]
        parent = label.parent
        while parent is not None and parent is not self.front.parent and parent is not Window:
            if isinstance(parent, ScrollView):
                low = parent.to_window(*parent.pos)
                box = [
                    max(box[0], low[0]),
                    max(box[1], low[1]),
                    min(box[2], low[0] + parent.width),
                    min(box[3], low[1] + parent.height),
                ]
                if box[0] >= box[2] or box[1] >= box[3]:
                    return None
            parent = parent.parent
        return (box[0], box[1], box[2], box[3])

    # -- touching --------------------------------------------------------------------------------

    def pressable(self, text: str) -> Any:
        """What can be pressed and holds this text: itself, or a text within it."""
        exact = [w for w in self.widgets(Pressable) if self._said(w) == text]
        found = exact or [w for w in self.widgets(Pressable) if text in self._said(w)]
        found = [w for w in found if not w.disabled] or found
        assert found, f"nothing to press says {text!r}; on the screen: {self.words()}"
        return found[0]

    def _said(self, widget: Any) -> str:
        return " ".join(_read(w) for w in widget.walk(restrict=True) if isinstance(w, Label) and w.text)

    def touch(self, what: str | Any, frames: int = 2) -> None:
        """Lay a finger on the middle of something and lift it again."""
        widget = self.pressable(what) if isinstance(what, str) else what
        x, y = widget.to_window(*widget.center)
        touch = UnitTestTouch(x, y)
        touch.touch_down()
        EventLoop.idle()
        touch.touch_up()
        self.frames(frames)

    def swipe(self, what: Any, across: float, down: float = 0) -> None:
        """Lay a finger on the middle of something, draw it so many pixels across and down, and lift it."""
        x, y = what.to_window(*what.center)
        touch = UnitTestTouch(x, y)
        touch.touch_down()
        for step in range(1, 6):
            EventLoop.idle()
            touch.touch_move(x + across * step / 5, y - down * step / 5)
        touch.touch_up()
        self.frames()

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

    def unlock(self, passphrase: str, initials: str) -> None:
        """Open the store on the first screen, or be told why it stays shut."""
        self.type(passphrase)
        self.touch(self.front.ids.initials.ids.entry)
        self.type(initials)
        self.touch("Open")
        self.until(lambda: self.screen != "unlock" or not self.app.stage.current.presenter.busy)

    def close(self) -> None:
        """Take the app off the window."""
        Clock.unschedule(self.app.stage._idle)
        self.app.stage.put_away()
        self.session.close()
        self.frames(2)  # what is still to be laid out needs this app's look
        for child in list(Window.children):
            Window.remove_widget(child)
