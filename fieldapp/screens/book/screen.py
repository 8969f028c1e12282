"""The book's first page: the glue."""

from __future__ import annotations

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.book.presenter import BookPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.press import PressBox
from fieldapp.widgets.rows import Tile

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class PlaceTile(PressBox):
    """A way on, with what waits there."""

    title = StringProperty("")
    words = StringProperty("")


class BookScreen(Screen):
    """Where the lead and the office begin."""

    make = BookPresenter
    presenter: BookPresenter

    def refresh(self) -> None:
        view, ids = self.presenter.view(), self.ids
        ids.top.title, ids.top.about, ids.top.pill = view.title, view.about, self.session.pill()
        ids.screened.text, ids.standing.text, ids.protocol.text = view.screened, view.standing, view.protocol
        ids.meter.value = view.fraction
        ids.statuses.clear_widgets()
        for status, words, count in view.statuses:
            line = Tile(name=words, count=count)
            line.bind(on_release=lambda _t, status=status: self.session.go("children", kind=status))
            ids.statuses.add_widget(line)
        ids.places.clear_widgets()
        for place in view.places:
            tile = PlaceTile(title=place.title, words=place.words)
            tile.bind(on_release=lambda _t, screen=place.screen: self.session.go(screen))
            ids.places.add_widget(tile)
