"""A newer class list: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.roster.presenter import RosterPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class RosterScreen(Screen):
    """Files on one side, what was read on the other."""

    make = RosterPresenter
    presenter: RosterPresenter

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.files.show(t("prepare.folder", folder=act.folder_name))
        words, problems = act.roster_words()
        ids.words.text = act.said or (words if act.reading or act.refused else t("roster.words"))
        ids.problems.clear_widgets()
        for problem in problems:
            ids.problems.add_widget(Words(text=problem))
        read = bool(act.reading and act.reading.rows)
        ids.take.text = t("roster.taking" if act.busy else "roster.take" if read else "roster.needs")
        ids.take.disabled = act.busy or not read

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
