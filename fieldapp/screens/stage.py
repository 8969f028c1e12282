"""The stage: shows one screen at a time, sheets above it, and hands keys to whoever is in front.

It also watches for idleness: when nobody has touched the tablet for the set time, or the app goes to the
background, the store is shut and every screen that held a name is thrown away.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from concurrent.futures import ThreadPoolExecutor
from importlib import import_module
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout

from fieldapp.screens.session import Session
from fieldapp.widgets.keys import KEY_NAMES, KeyRing
from fieldapp.widgets.sheet import ManySheet, Over, Pause, PinSheet, Sheet, TextSheet

SCREENS = {
    "unlock": "UnlockScreen",
    "today": "TodayScreen",
    "readiness": "ReadinessScreen",
    "next_child": "NextChildScreen",
    "add_child": "AddChildScreen",
    "walk": "WalkScreen",
    "result": "ResultScreen",
    "threshold": "ThresholdScreen",
    "settings": "SettingsScreen",
    "give_back": "GiveBackScreen",
    "pin": "PinScreen",
    "welcome": "WelcomeScreen",
    "prepare": "PrepareScreen",
    "protocol": "ProtocolScreen",
    "book": "BookScreen",
    "children": "ChildrenScreen",
    "child": "ChildScreen",
    "closing": "ClosingScreen",
    "hand_out": "HandOutScreen",
    "gather": "GatherScreen",
    "listen": "ListenScreen",
    "send": "SendScreen",
    "doubts": "DoubtsScreen",
    "watch": "WatchScreen",
    "papers": "PapersScreen",
    "preview": "PreviewScreen",
    "followup": "FollowupScreen",
    "counts": "CountsScreen",
    "findings": "FindingsScreen",
    "letterhead": "LetterheadScreen",
    "roster": "RosterScreen",
}


class Screen(BoxLayout):  # type: ignore[misc]
    """One screen: a bar on top and a body. ``presenter`` is made by the subclass's ``make``."""

    make: Callable[[Session], Any]
    rests = False  # kept when left, because it is shown again and again

    def __init__(self, session: Session, **options: Any) -> None:
        self.session = session
        self.presenter = type(self).make(session)
        super().__init__(orientation="vertical", **options)
        self.presenter.changed = self.refresh

    def enter(self, **arguments: Any) -> None:
        """About to be shown."""
        if hasattr(self.presenter, "enter"):
            self.presenter.enter(**arguments)
        self.refresh()

    def leave(self) -> None:
        """About to be hidden."""
        self.presenter.leave()

    def refresh(self) -> None:
        """Show what the presenter holds."""

    def keys(self) -> dict[str, Callable[[], Any]]:
        """What hardware keys do here, by key name."""
        return {}


class Stage(FloatLayout):  # type: ignore[misc]
    """Where screens are shown."""

    def __init__(self, session: Session, **options: Any) -> None:
        super().__init__(**options)
        self.session = session
        self.current: Any = None
        self.name = ""
        self.arguments: dict[str, Any] = {}
        self._resting: dict[str, Any] = {}
        self._jobs = 0
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="quietbell-work")
        self.ring = KeyRing(self)
        session.go, session.tell, session.ask, session.work = self.go, self.tell, self.ask, self.work
        session.aside, session.soon = self.aside, self.soon
        session.shut, session.pause, session.ask_many = self.shut, self.pause, self.ask_many
        session.lock, session.after, session.every, session.lay = self.lock, self.after, self.every, self.lay
        session.ask_text, session.ask_pin = self.ask_text, self.ask_pin
        Window.bind(on_key_down=self._key, on_touch_down=self._noticed)
        Clock.schedule_interval(self._idle, 2)

    # -- screens ---------------------------------------------------------------------------------

    def go(self, name: str, **arguments: Any) -> None:
        """Leave the present screen and show another."""
        screen = self._resting.get(name)
        if screen is None:
            module = import_module(f"fieldapp.screens.{name}.screen")
            screen = getattr(module, SCREENS[name])(self.session)
            if screen.rests:
                self._resting[name] = screen
        leaving, self.current = self.current, screen
        if name == "settings" and self.name not in ("settings", "pin", "unlock", ""):
            self.session.came_from = (self.name, self.arguments)
        self.name, self.arguments = name, arguments
        if leaving is not None:
            leaving.leave()
        self.ring.clear()
        screen.enter(**arguments)
        if self.current is not screen:
            return  # entering led on to yet another screen
        self.clear_widgets()
        self.add_widget(screen)

    def rebuild(self) -> None:
        """Build everything anew, for another language, size, hand or theme."""
        self._resting.clear()
        if self.current is not None:
            self.current.leave()
            self.current = None
            self.go(self.name, **self.arguments)

    def put_away(self) -> None:
        """Leave the present screen and throw away every screen that was read from the store."""
        if self.current is not None:
            self.current.leave()
            self.current = None
        self.clear_widgets()
        self._resting.clear()

    def lock(self, *_ignored: Any) -> None:
        """Shut the store; names are gone from the screen at once."""
        if self.session.station is None and self.session.desk is None:
            return
        if self.name != "pin":
            self.session.paused_at = (self.name, self.arguments)
        self.put_away()
        lock = self.session.screen_lock
        if lock.needs_passphrase:
            self.session.close()
            self.go("unlock", locked=True)
        else:
            lock.lock()
            self.go("pin")

    def shut(self, *_ignored: Any) -> None:
        """Shut the store whether there is a PIN or not: for laying the tablet aside."""
        if self.session.station is None and self.session.desk is None:
            return
        self.put_away()
        self.session.close()
        self.go("unlock", locked=True)

    def pause(self, *_ignored: Any) -> None:
        """Hide every name and leave all where it is; the PIN, or without one a touch, goes on.

        Without a PIN the tablet still locks itself when nobody touches it for the set time.
        """
        if self.session.screen_lock.needs_passphrase:
            self.ring.stop_typing()
            self.lay(Pause())
        else:
            self.lock()

    # -- sheets ----------------------------------------------------------------------------------

    def tell(self, title: str, words: str) -> None:
        """Say one thing that has to be read."""
        self.ask(title, words, [(self.session.t("sheet.understood"), "accent", lambda: None)])

    def ask(self, title: str, words: str, choices: Sequence[tuple[str, str, Callable[[], Any]]]) -> None:
        """Ask one thing."""
        self.ring.clear()
        self.add_widget(Sheet(title, words, choices))

    def lay(self, plate: Any) -> None:
        """Lay something to choose from over the screen."""
        self.ring.clear()
        self.add_widget(plate)

    def ask_text(self, title: str, label: str, button: str, act: Callable[[str], Any], **more: Any) -> None:
        """Ask for a few words; ``more`` are those that the sheet takes: ``text``, ``check``."""
        self.lay(TextSheet(title, label, button, act, **more))

    def ask_many(
        self,
        title: str,
        groups: Sequence[tuple[str, Sequence[tuple[str, str]]]],
        button: Callable[[Collection[str]], tuple[str, bool]],
        act: Callable[[Collection[str]], Any],
    ) -> None:
        """Ask for any number of things at once."""
        self.lay(ManySheet(title, groups, button, act))

    def ask_pin(self, title: str, words: str, act: Callable[[str], Any]) -> None:
        """Ask for some digits."""
        self.lay(PinSheet(title, words, act))

    @property
    def front(self) -> Any:
        """What can be pressed now: the topmost sheet, or the screen."""
        return self.children[0] if self.children else None

    # -- long work -------------------------------------------------------------------------------

    def work(
        self, job: Callable[[], Any], then: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> None:
        """Run a long job beside the screen; its result comes back to the main thread.

        Until then nothing can be pressed: the store that the job works on is not to be read meanwhile.
        """
        self._jobs += 1

        def over(act: Callable[[], None]) -> None:
            self._jobs -= 1
            act()

        self.aside(job, lambda result: over(lambda: then(result)), lambda error: over(lambda: failed(error)))

    def aside(
        self, job: Callable[[], Any], then: Callable[[Any], None], failed: Callable[[Exception], None]
    ) -> None:
        """The same for a job that reads no store: the screen can be pressed meanwhile. One job runs after the other."""

        def run() -> None:
            try:
                result = job()
            except Exception as error:
                self.soon(lambda error=error: failed(error))  # type: ignore[misc]
                return
            self.soon(lambda: then(result))

        self._worker.submit(run)

    @staticmethod
    def soon(act: Callable[[], Any]) -> None:
        """Do something on the main thread, asked for by any thread."""
        Clock.schedule_once(lambda _dt: act(), 0)

    def on_touch_down(self, touch: Any) -> bool:
        return True if self._jobs else bool(super().on_touch_down(touch))

    def after(self, seconds: float, act: Callable[[], None]) -> Callable[[], None]:
        """Do something in some seconds; calling the result calls it off."""
        event = Clock.schedule_once(lambda _dt: act(), seconds)
        return lambda: event.cancel()

    def every(self, seconds: float, act: Callable[[], Any]) -> Callable[[], None]:
        """Do something again and again; calling the result ends it."""

        def again(_dt: float) -> None:  # what it gives must not reach the clock: False would end it
            act()

        event = Clock.schedule_interval(again, seconds)
        return lambda: event.cancel()

    # -- keys and idleness -----------------------------------------------------------------------

    def _noticed(self, *_ignored: Any) -> None:
        self.session.screen_lock.touch()

    def _idle(self, _dt: float) -> None:
        if not self._jobs and self.session.screen_lock.locked and self.name not in ("pin", "unlock"):
            self.lock()

    def _key(self, _window: Any, key: int, _scancode: int, text: str | None, modifiers: list[str]) -> bool:
        self._noticed()
        if self._jobs:
            return True
        name = KEY_NAMES.get(key) or (text or "").lower()
        front = self.front
        learning = getattr(getattr(front, "presenter", None), "learning", False)
        if isinstance(front, Over) and name == "escape":
            front.escape()
            return True
        if self.ring.typing():
            if name == "escape":  # first out of the line, then out of the screen
                self.ring.stop_typing()
                return True
            return bool(self.ring.take(name, modifiers, typing=True))
        if name == "pause" and self.session.station is not None and not isinstance(front, Pause):
            self.pause()
            return True
        keys = front.keys() if isinstance(front, Screen | PinSheet) else {}
        typed = len(name) == 1 and name in keys  # a pedal that sends a letter takes none from who types
        if name == self.session.settings.pedal and not learning and not typed:
            name = "pedal"
        act = keys.get(name)
        if act is not None:
            act()
            return True
        if name == "enter" and isinstance(front, Sheet) and self.ring.idle:
            front.enter()
            return True
        return bool(self.ring.take(name, modifiers))
