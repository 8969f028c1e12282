"""There is no store yet: prepare a visit, or take a handout in on this tablet. No Kivy."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fieldapp.screens.base import Presenter
from fieldapp.screens.files import Found, offered
from shared.errors import QuietbellError

HANDOUTS = (".handout",)


class WelcomePresenter(Presenter):
    """``handout`` is the chosen file."""

    def enter(self) -> None:
        self.folder = self.session.exchange or Path(self.session.store_path).resolve().parent
        self.handout: Path | None = None
        self.busy = False
        self.wrong = ""

    def files(self) -> list[Found]:
        """Folders and handouts here."""
        return offered(self.folder, HANDOUTS)

    def up(self) -> None:
        """The folder around this one."""
        self.folder = self.folder.parent
        self.changed()

    def choose(self, found: Found) -> None:
        """Go into a folder, or choose a handout."""
        if found.folder:
            self.folder = found.path
        else:
            self.handout, self.wrong = found.path, ""
        self.changed()

    def receive(self, passphrase: str) -> None:
        """Take the handout in; the key takes a second or two."""
        if self.handout is None or self.busy or not passphrase:
            return
        session, handout = self.session, self.handout
        self.busy = True
        self.changed()
        session.work(
            lambda: session.receive_handout(handout, session.store_path, passphrase),
            self._received,
            self._failed,
        )

    def _received(self, station: Any) -> None:
        self.busy = False
        station.close()
        self.session.go("unlock")

    def _failed(self, error: Exception) -> None:
        self.busy = False
        if isinstance(error, QuietbellError):
            parts = (error.happened, error.kept, error.todo)
            self.wrong = " ".join(self.t.sentence(part) for part in parts if part)
        else:
            self.session.trouble(error)
        self.changed()
