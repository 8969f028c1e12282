"""Follow-up: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.followup.presenter import FollowupPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.rows import Tile

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class FollowupScreen(Screen):
    """What is still owed, the overdue first."""

    make = FollowupPresenter
    presenter: FollowupPresenter

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.kinds.clear_widgets()
        for status, word, count, chosen in act.kinds():
            tile = Tile(name=word, count=count, chosen=chosen)
            tile.bind(on_release=lambda _t, status=status: act.choose(status))
            ids.kinds.add_widget(tile)
        rows = act.rows()
        ids.list.show(rows)
        ids.empty.text = "" if rows else t("followup.none")

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
