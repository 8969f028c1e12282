"""Choosing a file of one kind: the folders and files here, up, into a folder. No Kivy.

For every screen that offers files: a handout, a class list, returns.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from fieldapp.screens.base import Presenter
from fieldapp.screens.files import Found, offered


class FileChoice(Presenter):
    """``folder`` is shown; what a chosen file means is ``took``'s."""

    endings: Sequence[str] = ()
    folder: Path

    def begin_choice(self) -> None:
        """Where files are exchanged, else where the store is."""
        self.folder = self.session.exchange or Path(self.session.store_path).resolve().parent

    def files(self) -> list[Found]:
        """The folders and the files of the kind here."""
        return offered(self.folder, self.endings)

    @property
    def folder_name(self) -> str:
        """The folder as it is called on the screen."""
        return self.folder.name or str(self.folder)

    def up(self) -> None:
        """The folder around this one."""
        self.folder = self.folder.parent
        self.changed()

    def choose(self, found: Found) -> None:
        """Go into a folder, or take a file."""
        if found.folder:
            self.folder = found.path
        else:
            self.took(found.path)
        self.changed()

    def took(self, file: Path) -> None:
        """A file was chosen."""
        raise NotImplementedError

    def sign(self, found: Found) -> str:
        """What stands at the end of its line."""
        return "›" if found.folder else ""

    def is_chosen(self, found: Found) -> bool:
        """Whether its line is the picked one."""
        return False
