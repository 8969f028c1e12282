"""Gathers returns: which files there are, what each brought, what it adds up to. No Kivy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.files import Found, offered
from shared.records.standing import Status

ENDINGS = (".return",)


class GatherPresenter(Presenter):
    """``result`` is the last gathering."""

    def enter(self) -> None:
        self.busy = False
        self.folder = self.session.exchange or Path(self.session.store_path).parent
        self.left_out: set[Path] = set()
        self.result: Any = None
        self.waiting = 0  # doubts after the last gathering

    def files(self) -> list[Found]:
        """The folders and the returns in the folder."""
        return offered(self.folder, ENDINGS)

    def open(self, found: Found) -> None:
        """Go into a folder; a file is left out of the gathering or taken in again."""
        if found.folder:
            self.folder = found.path
        else:
            self.left_out ^= {found.path}
        self.changed()

    def up(self) -> None:
        """The folder around this one."""
        self.folder = self.folder.parent
        self.changed()

    def chosen(self) -> list[Path]:
        """The returns that will be gathered."""
        return [found.path for found in self.files() if not found.folder and found.path not in self.left_out]

    def gather(self) -> None:
        """Take them in; the same return again adds nothing."""
        desk, files = self.session.desk, self.chosen()
        if not files or self.busy:
            return
        self.busy = True
        self.changed()
        self.session.work(lambda: desk.gather(files), self._gathered, self._failed)

    def _gathered(self, result: Any) -> None:
        self.busy, self.result = False, result
        self.waiting = len(self.session.desk.doubts())
        self.changed()

    def _failed(self, error: Exception) -> None:
        self.busy = False
        self.session.trouble(error)
        self.changed()

    def doubts(self) -> tuple[str, bool]:
        """After a gathering: how many doubts wait, in words, and whether there is anything to decide."""
        if self.result is None:
            return "", False
        if not self.waiting:
            return self.t("gather.no_doubts"), False
        return self.t("gather.doubts", count=self.waiting), True

    def came_back(self) -> Iterator[tuple[str, str]]:
        """(tablet, words) of every tablet: what came back from it, and the code for wiping it."""
        t, desk = self.t, self.session.desk
        for device in desk.devices():
            name = t("top.tablet", name=device.name) if len(device.name) <= 3 else device.name
            if not device.device:
                yield name, t("gather.silent")
            elif device.missing:
                yield name, t("gather.missing", count=len(device.missing))
            else:
                code = desk.receipt(device.device)
                yield name, t("gather.whole", count=device.entries, code=f"{code[:3]} {code[3:]}")

    def lines(self) -> Iterator[str]:
        """What the last gathering brought, file by file, and the sum."""
        t = self.t
        if self.result is None:
            return
        for one in self.result.returns:
            if one.problem is not None:
                parts = (one.problem.happened, one.problem.kept, one.problem.todo)
                yield f"{one.file}: " + " ".join(t.sentence(part) for part in parts if part)
            else:
                yield t("gather.brought", file=one.file, new=one.new, known=one.known)
        result = self.result
        yield t(
            "gather.sum",
            listed=result.listed,
            added=result.added,
            joined=result.joined,
            children=result.children,
        )
        yield " · ".join(
            f"{phrases.sign(Status(status))}{t(f'status.{status}')} {count}"
            for status, count in result.statuses.items()
            if count
        )
