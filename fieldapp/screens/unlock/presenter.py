"""Opens the store with its passphrase and signs the screener in."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from fieldapp.screens.base import Presenter
from fieldapp.screens.files import told_apart
from shared.errors import QuietbellError, WrongPassphrase
from shared.vault import kind_of


class UnlockPresenter(Presenter):
    """``busy`` while the key is being derived; ``wrong`` says what is wrong with the passphrase."""

    busy = False
    wrong = ""
    wrong_initials = ""
    locked = False

    def enter(self, locked: bool = False) -> None:
        self.busy, self.wrong, self.wrong_initials, self.locked = False, "", "", locked

    @property
    def on_a_book(self) -> bool:
        """Whether a visit book is to be opened; a store that cannot be read is taken for a tablet's."""
        try:
            return bool(self.session.store_path) and kind_of(self.session.store_path) == "book"
        except QuietbellError:
            return False

    @property
    def file(self) -> str:
        """What is to be opened, where it is not this device's own store."""
        session = self.session
        return told_apart(Path(session.store_path)) if session.store_path != session.own_path else ""

    def go_back(self) -> None:
        """To the first screen: another book, a handout, a new visit."""
        if not self.busy:
            self.session.go("welcome")

    def words(self, key: str) -> str:
        """The words of a key, as they are for what is to be opened."""
        return self.t(f"unlock.{key}_book" if self.on_a_book else f"unlock.{key}")

    def open(self, passphrase: str, initials: str) -> None:
        """Try to open; the store's key takes about a second to derive, so this runs beside the screen."""
        if self.busy:
            return
        self.wrong = "" if passphrase else self.words("needs_passphrase")
        self.wrong_initials = "" if initials.strip() else self.t("unlock.needs_initials")
        wait = self.session.patience.wait_seconds
        if wait > 0:
            self.wrong = self.t("unlock.wait", seconds=math.ceil(wait))
        if self.wrong or self.wrong_initials:
            self.changed()
            return
        self.busy = True
        self.changed()
        session = self.session
        session.work(
            lambda: session.opener(session.store_path, passphrase),
            lambda service: self._opened(service, initials.strip()),
            self._failed,
        )

    def _opened(self, service: Any, initials: str) -> None:
        self.busy = False
        session = self.session
        session.patience.right()
        session.screen_lock.lift()
        if not hasattr(service, "check_readiness"):
            service.sign_in(initials)
            session.desk = service
            session.remember_opened()
            session.go_home()
            return
        session.station = service
        try:
            if service.screener != initials:
                service.sign_in(initials)
        except QuietbellError as error:
            session.close()
            self._failed(error)
            return
        session.remember_opened()
        session.go_home()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        if isinstance(error, WrongPassphrase):
            self.session.patience.wrong()
        if isinstance(error, QuietbellError):
            parts = (error.happened, error.kept, error.todo)
            self.wrong = " ".join(self.t.sentence(part) for part in parts if part)
        else:
            self.wrong = self.t("trouble.words", kind=type(error).__name__)
        self.changed()
