"""Writes the return for the lead, and wipes the tablet once the lead has it. No Kivy."""

from __future__ import annotations

from pathlib import Path

from fieldapp.screens.base import Presenter
from shared.errors import QuietbellError

CODE = 6  # digits of the lead's code for wiping


class GiveBackPresenter(Presenter):
    """``written`` is the file's path once it is there; ``count`` how many entries it holds."""

    def enter(self) -> None:
        self.busy = False
        self.written: Path | None = None
        self.count = 0
        self.typed = ""
        self.wrong = ""
        self.wiping = False

    @property
    def file(self) -> Path:
        """Where the return goes: beside the store, or into the folder that the team exchanges files in."""
        station = self.session.station
        folder = self.session.exchange or Path(self.session.store_path).parent
        day = self.session.clock().date().isoformat()
        name = "".join(c if c.isalnum() else "-" for c in station.visit.tablet)
        return folder.absolute() / f"{name}-{day}.return"

    def write(self) -> None:
        """Write the return; sealing some ten thousand entries takes a moment."""
        station, file = self.session.station, self.file
        if station.current is not None:
            self.session.tell(self.t("give_back.open_walk"), "")
            return
        self.busy = True
        self.changed()
        self.session.work(
            lambda: station.give_back(file), lambda count: self._done(file, count), self._failed
        )

    def _done(self, file: Path, count: int) -> None:
        self.busy, self.written, self.count = False, file, count
        self.changed()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        self.session.trouble(error)
        self.changed()

    # -- wiping ----------------------------------------------------------------------------------

    def ask_wipe(self) -> None:
        """Show the pad for the number that the lead reads out."""
        self.wiping, self.typed, self.wrong = True, "", ""
        self.changed()

    def press(self, sign: str) -> None:
        """A key of the pad."""
        self.typed = self.typed[:-1] if not sign.isdigit() else (self.typed + sign)[:CODE]
        self.wrong = ""
        self.changed()

    @property
    def whole(self) -> bool:
        """Whether all digits of the code are typed."""
        return len(self.typed) == CODE

    def wipe(self) -> None:
        """Wipe the tablet where the lead has gathered every record of it."""
        session = self.session
        try:
            session.station.wipe(self.typed)
        except QuietbellError as error:
            self.wrong = " ".join(
                self.t.sentence(part) for part in (error.happened, error.kept, error.todo) if part
            )
            self.typed = ""
            self.changed()
            return
        session.station = None
        session.close()
        session.go("welcome")  # there is nothing left that a passphrase could open
        session.tell(self.t("give_back.wiped"), self.t("give_back.wiped_words"))
