"""The book's first page: the glue."""

from __future__ import annotations

from pathlib import Path

from kivy.lang import Builder
from kivy.properties import StringProperty

from fieldapp.screens.book.presenter import BookPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Band
from fieldapp.widgets.press import PressBox

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class PlaceTile(PressBox):
    """A way on, with what waits there."""

    title = StringProperty("")
    words = StringProperty("")


class CountLine(Band):
    """A word and its count."""

    words = StringProperty("")
    count = StringProperty("")


class BookScreen(Screen):
    """Where the lead and the office begin."""

    make = BookPresenter
    presenter: BookPresenter

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        ids.top.title, ids.top.about, ids.top.pill = view.title, view.about, self.session.pill()
        ids.children_words.text, ids.protocol.text = view.children, view.protocol
        ids.meter.value = view.fraction
        ids.statuses.clear_widgets()
        for words, count in view.statuses:
            ids.statuses.add_widget(CountLine(words=words, count=count))
        ids.places.clear_widgets()
        for place in view.places:
            tile = PlaceTile(title=place.title, words=place.words)
            tile.bind(on_release=lambda _t, screen=place.screen: self.session.go(screen))
            ids.places.add_widget(tile)
        closing = PlaceTile(
            title=t("book.closing"), words=t("book.closed") if view.closed else t("book.open")
        )
        closing.bind(on_release=lambda _t: self.presenter.close_visit())
        ids.places.add_widget(closing)
