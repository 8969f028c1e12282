"""What all presenters share: the open station or desk, the words, the clock, the way to another screen. No Kivy."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from fieldapp.screens import phrases, settings_file
from fieldapp.screens.settings_file import Settings
from fieldapp.screens.translation import LANGUAGES, Translator, words_of
from fieldapp.services import roll
from fieldapp.services.own_protocols import OwnProtocols
from shared.errors import QuietbellError
from shared.vault.lock import Patience, ScreenLock


def _local_now() -> datetime:
    return datetime.now().astimezone()


def _at_once(
    job: Callable[[], Any], then: Callable[[Any], None], failed: Callable[[Exception], None]
) -> None:
    try:
        result = job()
    except Exception as error:
        failed(error)
        return
    then(result)


def _listener(desk: Any, **more: Any) -> Any:
    from fieldapp.services.nearby.listener import Listener

    return Listener(desk, **more)


def _sender(station: Any, address: str) -> Any:
    from fieldapp.services.nearby.sender import Sender

    return Sender(station, address)


def _check_phrase(station: Any) -> str:
    from sync.handout import unpack_certificate
    from sync.nearby.phrase import check_phrase

    return check_phrase(unpack_certificate(station.ledger.about.get("authority")))


#: A screen by its name, and the arguments that it was shown with.
Place = tuple[str, dict[str, Any]]


@dataclass
class Session:
    """``go(screen, **arguments)`` moves on; ``tell(title, words)`` shows a sheet; ``ask(title, words,
    choices)`` shows one with buttons ``(text, rank, act)``; ``work`` runs a long job off the main thread;
    ``after`` does something in some seconds, ``every`` again and again; both give a way to call it off."""

    opener: Callable[[str, str], Any]  # (path, passphrase) -> station or desk
    store_path: str = ""
    own_path: str = ""  # where this device's own store is, or will be made; at first the same
    settings: Settings = field(default_factory=Settings)
    settings_path: Path | None = None
    exchange: Path | None = None  # where handouts and returns are exchanged; None: beside the store
    clock: Callable[[], datetime] = _local_now
    ticks: Callable[[], float] = time.monotonic
    station: Any = None
    desk: Any = None
    prepare_book: Callable[..., Any] = lambda *_a, **_k: None  # (path, passphrase, school=, people=, ...)
    receive_handout: Callable[..., Any] = lambda *_a: None  # (handout, store, passphrase)
    listener: Callable[..., Any] = _listener  # (desk, tell=) -> what tablets talk to over the local network
    sender: Callable[..., Any] = _sender  # (station, address)
    check_phrase: Callable[[Any], str] = _check_phrase  # (station)
    every: Callable[[float, Callable[[], Any]], Callable[[], None]] = lambda _s, _act: lambda: None
    go: Callable[..., None] = lambda *_a, **_k: None
    tell: Callable[[str, str], None] = lambda *_a: None
    ask: Callable[..., None] = lambda *_a, **_k: None
    ask_text: Callable[..., None] = lambda *_a, **_k: (
        None
    )  # (title, label, button, act with the words, text=, check=)
    ask_pin: Callable[..., None] = lambda *_a: None  # (title, words, act with the digits)
    ask_many: Callable[..., None] = lambda *_a: None  # (title, groups, button, act with the keys chosen)
    lay: Callable[[Any], None] = lambda _plate: None  # lays a plate of choices over the screen
    lock: Callable[[], None] = lambda: None  # as when idle: the PIN, where there is one, lifts it
    shut: Callable[[], None] = lambda: None  # the store is closed: only the passphrase helps
    pause: Callable[[], None] = lambda: None  # names vanish, everything stays where it is
    work: Callable[..., None] = _at_once
    aside: Callable[..., None] = _at_once  # the same for what reads no store: the screen stays alive
    soon: Callable[[Callable[[], Any]], None] = lambda act: act()  # do it on the main thread, from any
    after: Callable[[float, Callable[[], None]], Callable[[], None]] = lambda _s, _act: lambda: None
    restyle: Callable[[], None] = lambda: None
    came_from: Place | None = None  # where the settings were opened from
    paused_at: Place | None = None  # what the PIN brings back
    class_name: str | None = None  # the class the screener is in
    begun_check: dict[str, Any] = field(default_factory=dict)  # a readiness check, kept over the lock
    t: Translator = field(init=False)

    screen_lock: ScreenLock = field(init=False)
    patience: Patience = field(init=False)

    def __post_init__(self) -> None:
        self.own_path = self.own_path or self.store_path
        self.t = Translator(self.settings.language)
        self.patience = Patience(clock=self.ticks)
        self.screen_lock = self._fresh_lock()

    def _fresh_lock(self) -> ScreenLock:
        idle = self.settings.lock_minutes * 60.0
        return ScreenLock(clock=self.ticks, random=os.urandom, idle_seconds=idle)

    def go_home(self) -> None:
        """Where one goes on after unlocking: exactly where the work was."""
        station, in_hand = self.station, self._in_hand()
        if in_hand and self.class_name is None:  # after a crash: on in the class of the child in hand
            self.class_name = station.standing(in_hand).person.class_name
        if station is None:
            self.go("book")
        elif station.current is not None:
            self.go("walk")
        elif station.thresholds.current is not None:
            self.go("threshold")
        else:
            screen, class_name = station.place
            self.class_name = self.class_name if self.class_name is not None else class_name or None
            self.go(screen if screen == "next_child" and station.ready.open else "today")

    def go_on(self) -> None:
        """Back to the screen that the lock covered."""
        covered, self.paused_at = self.paused_at, None
        self._return_to(covered)

    def go_back(self) -> None:
        """From the settings to where they were opened."""
        before, self.came_from = self.came_from, None
        self._return_to(before)

    def _return_to(self, place: Place | None) -> None:
        if place is None:
            self.go_home()
        else:
            self.go(place[0], **place[1])

    def change(self, **changes: Any) -> None:
        """Change settings, keep them, and show the screen anew."""
        self.settings = replace(self.settings, **changes)
        if "lock_minutes" in changes:
            self.screen_lock = self._fresh_lock()
        self.t = Translator(self.settings.language)
        settings_file.write(self.settings_path, self.settings)
        self.restyle()

    @property
    def own_file(self) -> Path:
        """Where this device's own store is, or will be made, as a whole path."""
        return Path(self.own_path).resolve()

    def remember_opened(self) -> None:
        """The book or store that is open now is offered at the next start; only its path is kept."""
        path = str(Path(self.store_path).resolve())
        opened = (path, *(each for each in self.settings.opened if each != path))
        self.settings = replace(self.settings, opened=opened[: settings_file.MOST_OPENED])
        settings_file.write(self.settings_path, self.settings)

    def offered_again(self) -> list[Path]:
        """This device's own store and what was opened here before, as far as it is still there."""
        known = dict.fromkeys((str(self.own_file), *self.settings.opened))
        return [path for path in map(Path, known) if path.is_file()]

    def trouble(self, error: Exception) -> None:
        """Show an error in its three sentences; anything unforeseen is said without its inner text."""
        if isinstance(error, QuietbellError):
            said = [error.happened, error.kept, error.todo]
            parts = [self.t.sentence(part) for part in said if part]
            self.tell(parts[0], "\n".join(parts[1:]))
        else:
            self.tell(self.t("trouble.title"), self.t("trouble.words", kind=type(error).__name__))

    @property
    def own_protocols(self) -> OwnProtocols:
        """The protocols that were made here; they live beside the settings."""
        return OwnProtocols(self.settings_path.parent / "protocols" if self.settings_path else None)

    def pill(self) -> str:
        """What the pill in the bar says: whose tablet this is."""
        if self.station is None:
            return self.t("top.book")
        return phrases.pill(self.t, self.station.visit.tablet, self.station.screener)

    @property
    def class_open(self) -> str | None:
        """The class that is open in the list, or None where the list shows something else."""
        return None if self.class_name in (None, "+", "/") else self.class_name

    def card(self) -> None:
        """The instructions for the child, in both languages, to read aloud."""
        own_first = sorted(LANGUAGES, key=lambda language: language != self.settings.language)
        words = "\n\n".join(words_of(language)["card.words"] for language in own_first)
        self.ask(self.t("card.title"), words, [(self.t("sheet.back"), "back", lambda: None)])

    def menu(self) -> None:
        """The way to everything that is not the next tap."""
        t = self.t
        there = ("today", "readiness", "settings") if self.station is not None else ("book", "settings")
        in_hand = self._in_hand()
        note = [(t("menu.note"), "quiet", lambda: self.note(in_hand))] if in_hand else []
        places = [(t(f"menu.{place}"), "quiet", lambda place=place: self.go(place)) for place in there]
        rest = [(t("settings.card"), "quiet", self.card)] if self.station is not None else []
        rest += [(t("menu.lock"), "quiet", self.shut), (t("sheet.back"), "back", lambda: None)]
        self.ask(self.pill(), "", [(t("menu.pause"), "quiet", self.pause), *note, *places, *rest])

    def _in_hand(self) -> str:
        """The child that is being tested, or empty."""
        if self.station is None:
            return ""
        if self.station.current is not None:
            return str(self.station.current[0])
        testing = self.station.thresholds.current
        return str(testing.child) if testing is not None else ""

    def note(self, child: str, then: Callable[[], None] = lambda: None) -> None:
        """Write a few words about a child; ``then`` what follows once they are kept."""
        t, station = self.t, self.station

        def keep(words: str) -> None:
            try:
                station.observe(child, words)
            except QuietbellError as error:
                self.trouble(error)
                return
            then()

        name = phrases.name_said(station.standing(child).person)
        self.ask_text(t("note.title", name=name), t("note.label"), t("note.keep"), keep)

    def close(self) -> None:
        """Shut the store and forget everything that was read from it."""
        for service in (self.station, self.desk):
            if service is not None:
                service.close()
        self.station = self.desk = None
        roll.forget()
        self.screen_lock = self._fresh_lock()
        self.class_name = self.paused_at = self.came_from = None
