"""Lists and letters: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.papers.presenter import PapersPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.rows import Tile

Builder.load_file(str(Path(__file__).with_name("screen.kv")))

NAMES_SHOWN = 60


class PapersScreen(Screen):
    """Papers on one side, the open one on the other."""

    make = PapersPresenter
    presenter: PapersPresenter

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        for name, title, count in self.presenter.papers():
            tile = Tile(name=title, count=count)
            tile.key = name
            tile.bind(on_release=lambda tile: self.presenter.open(tile.key))
            self.ids.papers.add_widget(tile)
        self.refresh()

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        view = act.view()
        ids.top.pill = self.session.pill()
        for tile in ids.papers.children:
            chosen = tile.key == act.chosen
            if chosen and not tile.chosen:
                ids.shelf.bring_soon(tile)
            tile.chosen = chosen
        ids.paper.text, ids.words.text, ids.file.text = view.title, view.words, view.file
        ids.warning.text = view.warning
        more = len(view.children) - NAMES_SHOWN
        names = list(view.children[:NAMES_SHOWN])
        ids.names.text = "\n".join([*names, t("papers.more", count=more)] if more > 0 else names)
        ids.make.text = view.making or t("papers.make")
        ids.make.disabled = act.busy
        ids.show.text, ids.show.disabled = view.show, not view.may_show
        ids.show.rank, ids.make.rank = ("accent", "strong") if act.previews else ("quiet", "accent")
        ids.size.text = t(f"papers.size_{act.page_size}")
        ids.language.text = t(f"papers.language_{act.language}")
        ids.sent.disabled = not view.may_mark
        ids.sent.opacity, ids.sent.text = (1, t("papers.mark_sent")) if view.letters else (0, "")

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
