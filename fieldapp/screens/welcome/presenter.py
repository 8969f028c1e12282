"""There is no store yet: prepare a visit, take a handout in on this tablet, or open what lies elsewhere. No Kivy."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from fieldapp.screens.file_choice import FileChoice
from fieldapp.screens.files import Found, told_apart
from fieldapp.screens.translation import LANGUAGES
from shared.errors import QuietbellError
from shared.vault import kind_of


class WelcomePresenter(FileChoice):
    """``handout`` is the chosen file."""

    endings = (".handout", ".book", ".store")

    def enter(self) -> None:
        self.begin_choice()
        self.handout: Path | None = None
        self.passphrase = ""
        self.busy = False
        self.wrong = ""

    def other_language(self) -> tuple[str, str]:
        """The language that is not on the screen, and its own name: whoever reads only that finds it here."""
        now = self.session.settings.language
        language = next(each for each in LANGUAGES if each != now)
        return language, self.t(f"settings.language_{language}")

    def speak(self) -> None:
        """Change to it."""
        self.session.change(language=self.other_language()[0])

    def took(self, file: Path) -> None:
        """It is this handout; a visit book or a tablet's store is opened."""
        if file.suffix.lower() != ".handout":
            self.open(file)
            return
        self.handout, self.wrong = file, ""

    def again(self) -> list[tuple[Path, str]]:
        """(file, words) of what was opened here before and is still there."""
        own = self.session.own_file
        return [
            (file, self.t("welcome.own") if file == own else told_apart(file))
            for file in self.session.offered_again()
        ]

    def open(self, file: Path) -> None:
        """Unlock this visit book or store."""
        if self.guarded(lambda: kind_of(file)):
            own = file == self.session.own_file
            self.session.store_path = self.session.own_path if own else str(file)
            self.session.go("unlock")

    def is_chosen(self, found: Found) -> bool:
        """Whether it is the chosen handout."""
        return found.path == self.handout

    def type(self, passphrase: str) -> None:
        """The handout's passphrase."""
        self.passphrase, self.wrong = passphrase, ""
        self.changed()

    @property
    def may_receive(self) -> bool:
        """Whether there is all that taking in needs."""
        return self.handout is not None and bool(self.passphrase) and not self.busy

    def button(self) -> str:
        """What the button does, or what it waits for."""
        if self.busy:
            return self.t("unlock.opening")
        if self.handout is None:
            return self.t("welcome.choose")
        return self.t("welcome.receive" if self.passphrase else "welcome.needs")

    def receive(self) -> None:
        """Take the handout in; the key takes a second or two."""
        if not self.may_receive or self.handout is None:
            return
        session, handout, passphrase = self.session, self.handout, self.passphrase
        self.busy = True
        self.changed()
        session.store_path = session.own_path  # another store may have been looked at before
        session.work(
            lambda: session.receive_handout(handout, session.own_path, passphrase),
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
