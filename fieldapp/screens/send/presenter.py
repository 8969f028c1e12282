"""Sends everything to the lead over the local network; what the lead acknowledged is safe there. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fieldapp.screens.base import Presenter
from shared.errors import QuietbellError

TICK_SECONDS = 0.05
LONGEST = 21  # 255.255.255.255:65535
DOTS = 3  # in an address; what parts it from the port is a colon


class SendPresenter(Presenter):
    """``typed`` is the address as the lead's screen shows it."""

    def enter(self) -> None:
        self.typed = ""
        self.said = ""
        self.wrong = ""
        self.done = False
        self._sender: Any = None
        self._shown: Any = None  # how far it was when that was last shown
        self._call_off: Callable[[], None] = lambda: None

    def leave(self) -> None:
        self._call_off()
        if self._sender is not None:
            self._sender.stop()

    @property
    def busy(self) -> bool:
        """Whether a talk is going on."""
        return self._sender is not None

    def parting(self) -> str:
        """The sign that may come next beside the digits: a dot, after the third the colon before the port."""
        return "." if self.typed.count(".") < DOTS else ":"

    def press(self, sign: str) -> None:
        """A key of the pad; a dot and a colon are one key."""
        if sign in ".:":
            sign = self.parting()
        self.typed = self.typed[:-1] if sign not in "0123456789.:" else (self.typed + sign)[:LONGEST]
        self.wrong = ""
        self.changed()

    def send(self) -> None:
        """Call the lead."""
        if self.busy or not self.typed:
            return
        try:
            sender = self.session.sender(self.session.station, self.typed)
        except QuietbellError as error:
            self._broken(error)
            return
        self._sender, self._shown, self.wrong, self.done = sender, None, "", False
        sender.start()
        self._call_off = self.session.every(TICK_SECONDS, self._work)
        self.changed()

    def stop(self) -> None:
        """Break off; what was acknowledged is safe. At once: a line that is stuck may take its time to end, but has no
        way to the store any more."""
        if self._sender is not None:
            self._sender.stop()
            self._over()

    def _work(self) -> None:
        sender = self._sender
        if sender is None:
            return
        going_on = sender.work()
        now = sender.sending
        said = self.t(f"send.{now.stage}", sent=now.sent, total=now.total)
        if now != self._shown:
            self._shown, self.said = now, said
            self.session.screen_lock.touch()  # as long as something gets across, work is going on
            self.changed()
        if not going_on:
            self._over()

    def _over(self) -> None:
        """It has ended, or was broken off: say what came of it."""
        sender = self._sender
        self._call_off()
        self._sender = None
        try:
            sent = sender.result()
        except QuietbellError as error:
            self._broken(error)
            return
        self.done = sent.complete
        self.said = self.t(
            "send.done" if sent.complete else "send.partly", held=sent.held, highest=sent.highest
        )
        if sent.told:
            self.said += " " + self.t.counted("send.told", sent.told)
        self.changed()

    def _broken(self, error: QuietbellError) -> None:
        self.said = ""
        self.wrong = " ".join(
            self.t.sentence(part) for part in (error.happened, error.kept, error.todo) if part
        )
        self.changed()

    def phrase(self) -> str:
        """The check phrase, for comparing with the lead's screen."""
        return str(self.session.check_phrase(self.session.station)).replace("-", " ")
