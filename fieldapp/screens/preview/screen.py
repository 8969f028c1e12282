"""A paper's pages: the glue. Textures are made here, on the main thread, from pictures that the worker drew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.preview.presenter import PreviewPresenter
from fieldapp.screens.stage import Screen

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class PreviewScreen(Screen):
    """The page on one side, what can be done with the paper on the other."""

    make = PreviewPresenter
    presenter: PreviewPresenter

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        leaf = self.ids.leaf
        leaf.bind(size=lambda _leaf, size: self.presenter.fit(*size))
        leaf.bind(on_swipe=lambda _leaf, by: self.presenter.turn(by))
        self.presenter.fit(*leaf.size)

    def leave(self) -> None:
        super().leave()
        self.ids.leaf.show(None)

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        view, picture = act.view(), act.picture
        ids.top.title, ids.top.pill = view.title, self.session.pill()
        ids.leaf.show(picture)
        ids.drawing.text = "" if picture else t("preview.drawing")
        ids.page.text = view.page
        ids.page.disabled = act.count < 2
        ids.previous.disabled, ids.next.disabled = view.first, view.last
        ids.smaller.disabled, ids.larger.disabled = view.smallest, view.largest
        ids.said.text = view.said
        ids.print.disabled = act.busy or not view.may_print
        ids.save.disabled = act.busy or view.saved
        ids.save.text = t("preview.is_saved") if view.saved else t("preview.save")

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        on, back = (lambda: act.turn(1)), (lambda: act.turn(-1))
        return {
            **dict.fromkeys(("right", "pagedown", "pedal"), on),
            **dict.fromkeys(("left", "pageup"), back),
            **{"home": lambda: act.go_to(0), "end": lambda: act.go_to(act.count - 1)},
            **{"+": lambda: act.resize(1), "-": lambda: act.resize(-1)},
            "escape": act.go_back,
        }
