"""The locked screen where a PIN was chosen: names are gone, the PIN brings them back. No Kivy."""

from __future__ import annotations

from fieldapp.screens.base import Presenter

OPEN = "✓"


class PinPresenter(Presenter):
    """After five wrong PINs the store is shut and only the passphrase helps."""

    def enter(self) -> None:
        self.typed = ""
        self.wrong = ""

    def press(self, sign: str) -> None:
        """A key of the pad."""
        if sign == OPEN:
            self.open()
            return
        self.typed = (self.typed + sign)[:8] if sign.isdigit() else self.typed[:-1]
        self.wrong = ""
        self.changed()

    def open(self) -> None:
        """Try the PIN."""
        session, lock = self.session, self.session.screen_lock
        if not self.typed:  # no try is lost by it
            self.wrong = self.t("pin.needs")
            self.changed()
            return
        if lock.try_pin(self.typed):
            self.typed = ""
            session.go_on()
            return
        self.typed = ""
        if lock.needs_passphrase:
            session.close()
            session.go("unlock", locked=True)
            return
        self.wrong = self.t("pin.wrong", count=lock.tries_left)
        self.changed()

    def dots(self) -> str:
        """How many digits are typed."""
        return "● " * len(self.typed)
