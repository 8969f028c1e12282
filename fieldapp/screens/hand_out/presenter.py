"""Hands tablets out: a name, its classes, a passphrase, a file. No Kivy."""

from __future__ import annotations

import os
from pathlib import Path

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.before_saving import ask_where
from shared.vault import passphrases

NAMES = ("A", "B", "C", "D", "E", "F", "G", "H")


class HandOutPresenter(Presenter):
    """Keeps what was chosen for the next handout."""

    def enter(self) -> None:
        self.busy = False
        taken = {tablet.name for tablet in self.session.desk.tablets}
        self.name = next((name for name in NAMES if name not in taken), NAMES[0])
        self.classes: set[str] = set()
        self.passphrase = ""
        self.done = self.next = ""

    def handed(self) -> list[tuple[str, str]]:
        """(name, words) of every tablet that has a handout: which classes, and since when."""
        t = self.t
        return [
            (
                phrases.tablet(t, tablet.name),
                f"{', '.join(tablet.classes) or t('hand_out.all_classes')}\n"
                f"{phrases.short_date(t, tablet.made_at)}, {phrases.clock_time(t, tablet.made_at)}",
            )
            for tablet in sorted(self.session.desk.tablets, key=lambda tablet: tablet.name)
        ]

    def all_classes(self) -> list[str]:
        """Every class of the roster."""
        from fieldapp.services.roll import class_order

        found = {standing.person.class_name for standing in self.session.desk.standings()}
        return sorted((name for name in found if name), key=class_order)

    def choose_name(self, name: str) -> None:
        """Which tablet; the passphrase of another one does not come along."""
        if name != self.name:
            self.passphrase = ""
        self.name, self.done, self.next = name, "", ""
        self.changed()

    def turn_class(self, name: str) -> None:
        """A class goes along, or not."""
        self.classes ^= {name}
        self.done = self.next = ""
        self.changed()

    def type(self, passphrase: str) -> None:
        """The passphrase that the tablet will be opened with."""
        self.passphrase = passphrase
        self.changed()

    def advice(self) -> str:
        """What would make the passphrase better."""
        return self.t.sentence(passphrases.advice(self.passphrase)) if self.passphrase else ""

    def suggest(self) -> str:
        """Four made-up words."""
        return passphrases.suggestion(os.urandom)

    @property
    def may_write(self) -> bool:
        """Whether there is enough to write a handout."""
        return bool(self.name and not self.busy and passphrases.weakness(self.passphrase) is None)

    def button(self) -> str:
        """What the button does, or what it waits for."""
        t = self.t
        if self.busy:
            return t("hand_out.writing")
        if not self.passphrase:
            return t("hand_out.needs")
        return t("hand_out.write", file=self.file.name) if self.may_write else t("hand_out.weak")

    @property
    def file(self) -> Path:
        """Where the handout goes, unless one is there already that is to be kept."""
        folder = self.session.exchange or Path(self.session.store_path).parent
        return folder / f"{self.name}.handout"

    def write(self) -> None:
        """Seal the handout, once it is known what becomes of one that is there already."""
        if self.may_write:
            ask_where(self.session, self.file, self._seal)

    def _seal(self, file: Path) -> None:
        """Write it there; the key takes a second."""
        desk, name = self.session.desk, self.name
        classes, passphrase = sorted(self.classes), self.passphrase
        self.busy = True
        self.changed()
        self.session.work(
            lambda: desk.hand_out(name, file, passphrase, classes=classes),
            lambda count: self._written(file.resolve(), count),
            self._failed,
        )

    def _written(self, file: Path, count: int) -> None:
        self.busy = False
        t = self.t
        self.done = t("hand_out.done", file=file.name, count=count)
        self.next = t("hand_out.next", path=str(file), tablet=phrases.tablet(t, self.name))
        self.changed()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        self.session.trouble(error)
        self.changed()
