"""Gathers returns: which files there are, what each brought, what it adds up to. No Kivy."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.file_choice import FileChoice
from fieldapp.screens.files import Found
from shared.records.standing import Status


class GatherPresenter(FileChoice):
    """``result`` is the last gathering. What is in the book already is not chosen, but may be."""

    endings = (".return",)

    def enter(self) -> None:
        self.busy = False
        self.begin_choice()
        self.turned: set[Path] = set()  # chosen although known, or left out although new
        self.result: Any = None
        self.waiting = 0  # doubts after the last gathering

    def took(self, file: Path) -> None:
        """A return is left out of the gathering, or taken in after all."""
        self.turned ^= {file}

    def sign(self, found: Found) -> str:
        """A tick where it will be gathered; whether it was before."""
        if found.folder:
            return super().sign(found)
        known = self.t("gather.already") if self._known(found) else ""
        return " ".join(part for part in (known, "✓" if self._will_be(found) else "") if part)

    def _known(self, found: Found) -> bool:
        return bool(self.session.desk.was_gathered(found.path))

    def _will_be(self, found: Found) -> bool:
        return self._known(found) == (found.path in self.turned)

    def chosen(self) -> list[Path]:
        """The returns that will be gathered."""
        return [found.path for found in self.files() if not found.folder and self._will_be(found)]

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
        self.turned.clear()
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
        aside = {state.name: state.aside for state in desk.closing.tablets() if state.aside}
        for device in desk.devices():
            name = phrases.tablet(t, device.name)
            if device.name in aside:
                yield name, t(f"closing.is_{aside[device.name].value}")
            elif not device.device:
                yield name, t("gather.silent")
            elif device.missing:
                yield name, t.counted("gather.missing", len(device.missing))
            else:
                code = desk.receipt(device.device)
                yield name, t("gather.whole", count=device.entries, code=f"{code[:3]}\u00a0{code[3:]}")

    def has_code(self) -> bool:
        """Whether some tablet may be wiped."""
        return any(each.device and not each.missing for each in self.session.desk.devices())

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
        told = (
            f"{phrases.sign(Status(status))}{t(f'status.{status}')} {count}"
            for status, count in result.statuses.items()
            if count
        )
        yield " · ".join(each.replace(" ", "\u00a0") for each in told)  # each whole on its line
