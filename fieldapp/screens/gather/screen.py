"""Gathering: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.gather.presenter import GatherPresenter
from fieldapp.screens.session import Session
from fieldapp.screens.stage import Screen
from fieldapp.widgets.words import Named, Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class GatherScreen(Screen):
    """Files on one side, what came of them on the other."""

    make = GatherPresenter
    presenter: GatherPresenter

    def __init__(self, session: Session, **options: Any) -> None:
        super().__init__(session, **options)
        self._doubts = self.ids.doubts.__self__  # held while there is nothing to decide

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.files.show(t("gather.folder", folder=act.folder_name), t("gather.none"))
        chosen = len(act.chosen())
        ids.gather.disabled = act.busy or not chosen
        idle = t("gather.now", count=chosen) if chosen else t("gather.nothing")
        ids.gather.text = t("gather.busy") if act.busy else idle
        ids.said.clear_widgets()
        said, to_decide = act.doubts()
        ids.doubts.text = said if to_decide else ""
        if to_decide != (self._doubts.parent is not None):
            (ids.card.add_widget if to_decide else ids.card.remove_widget)(self._doubts)
        for words in act.lines():
            ids.said.add_widget(Words(text=words))
        if said and not to_decide:
            ids.said.add_widget(Words(text=said))
        if act.result is not None:
            ids.said.add_widget(Words(text=" "))
        for name, words in act.came_back():
            ids.said.add_widget(Named(name=name, words=words))
        if act.has_code():
            ids.said.add_widget(Words(text=t("gather.code_words"), tone="soft"))

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
