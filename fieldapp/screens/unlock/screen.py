"""The unlock screen's glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.stage import Screen
from fieldapp.screens.unlock.presenter import UnlockPresenter

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class UnlockScreen(Screen):
    """Passphrase and initials, in the upper half so that a keyboard on the screen covers neither."""

    make = UnlockPresenter
    presenter: UnlockPresenter

    def enter(self, **arguments: object) -> None:
        super().enter(**arguments)
        self.ids.passphrase.take_focus()

    def leave(self) -> None:
        self.ids.passphrase.text = ""
        super().leave()

    def open(self) -> None:
        """The button, or Enter in a field."""
        self.presenter.open(self.ids.passphrase.text, self.ids.initials.text)

    def refresh(self) -> None:
        shown, ids, t = self.presenter, self.ids, self.session.t
        ids.passphrase.wrong = shown.wrong
        ids.initials.wrong = shown.wrong_initials
        ids.open.text = t("unlock.opening") if shown.busy else t("unlock.open")
        ids.open.disabled = shown.busy
        ids.words.text, ids.file.text = shown.words("words"), shown.file
        ids.state.text = t("unlock.locked") if shown.locked else t("unlock.about")
        if shown.wrong and not shown.busy:
            ids.passphrase.text = ""

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": self.presenter.go_back}
