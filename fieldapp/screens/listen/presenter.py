"""Gathers over the local network: where this device listens, its check phrase, and what each tablet sends. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter

TICK_SECONDS = 0.05
WORDS = {"sending": "sending", "done": "done", "broken off": "broken"}


@dataclass(frozen=True, slots=True)
class ListenView:
    """``tablets`` are (name, words)."""

    address: str
    others: str
    phrase: str
    tablets: tuple[tuple[str, str], ...]


class ListenPresenter(Presenter):
    """Listens as long as the screen is shown."""

    def enter(self) -> None:
        self._listener: Any = None
        self._call_off: Callable[[], None] = lambda: None
        self._turned_away = ""
        listener = self.session.listener(self.session.desk, tell=self._heard)
        if not self.guarded(listener.start):
            return
        self._listener = listener
        self._call_off = self.session.every(TICK_SECONDS, lambda: listener.work())

    def leave(self) -> None:
        self._call_off()
        if self._listener is not None:
            listener, self._listener = self._listener, None
            listener.close()

    def _heard(self, one: Any) -> None:
        self.session.screen_lock.touch()  # a tablet that sends is work going on
        if not one.device and one.problem is not None:
            self._turned_away = self.t.sentence(one.problem.happened)
        if self._listener is not None:
            self.changed()

    def qr(self) -> tuple[tuple[bool, ...], ...]:
        """The QR code of the address and the phrase, dark modules true; empty without a network."""
        if self._listener is None or not self._listener.addresses:
            return ()
        return tuple(self._listener.qr())

    def view(self) -> ListenView:
        """The screen as it stands."""
        t = self.t
        if self._listener is None or not self._listener.addresses:
            return ListenView(t("listen.no_network"), "", "", ())
        first, *rest = self._listener.addresses
        tablets = [(self._name(one.tablet), self._words(one)) for one in self._listener.heard]
        if self._turned_away:
            tablets.append((t("listen.turned_away"), self._turned_away))
        return ListenView(
            first.to_type,
            " · ".join(other.to_type for other in rest),
            self._listener.phrase.replace("-", " "),
            tuple(tablets),
        )

    def _name(self, name: str) -> str:
        return phrases.tablet(self.t, name)

    def _words(self, one: Any) -> str:
        t = self.t
        if one.problem is not None:
            return f"{t.sentence(one.problem.happened)} {t.sentence(one.problem.todo)}".strip()
        return t(f"listen.{WORDS.get(one.state, 'sending')}", held=one.held, highest=one.highest, new=one.new)
