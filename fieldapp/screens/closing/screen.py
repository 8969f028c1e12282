"""Closing the visit: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.lang import Builder

from fieldapp.screens.closing.presenter import ClosingPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Choices, Column
from fieldapp.widgets.press import Press
from fieldapp.widgets.words import Named, Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ClosingScreen(Screen):
    """Tablets on one side, children without a result on the other, and the button that closes."""

    make = ClosingPresenter
    presenter: ClosingPresenter

    def __init__(self, session: Any, **options: Any) -> None:
        super().__init__(session, **options)
        self._doubts = self.ids.doubts.__self__  # held while nothing waits

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        view = act.view()
        ids.top.pill, ids.top.about = self.session.pill(), view.said
        ids.tablets.clear_widgets()
        for line in view.tablets:
            part = Column()
            part.add_widget(Named(name=line.name, words=line.words))
            if line.ways:
                ways = Choices(cols=len(line.ways))
                for what, words in line.ways:
                    button = Press(text=words, bold=False)
                    button.bind(on_release=lambda _b, key=line.key, what=what: act.say(key, what))
                    ways.add_widget(button)
                part.add_widget(ways)
            ids.tablets.add_widget(part)
        if not view.tablets:
            ids.tablets.add_widget(Words(text=t("hand_out.none"), tone="soft"))
        self._doubts.text = view.doubts
        if bool(view.doubts) != (self._doubts.parent is not None):
            (ids.left.add_widget if view.doubts else ids.left.remove_widget)(self._doubts)
        ids.without.text, ids.more.text = view.without, view.more
        ids.names.clear_widgets()
        for name, children in view.names:
            ids.names.add_widget(Words(text=name, weight=True))
            for child in children.splitlines():  # each drawn by itself, whichever way its letters run
                ids.names.add_widget(Words(text=child))
        ids.show.disabled = not view.names
        ids.close.text = t("closing.reopen") if view.closed else t("closing.title")
        ids.close.rank = "strong" if view.closed else "accent"
        ids.close.disabled = not (view.may_close or view.closed)

    def close_or_reopen(self) -> None:
        """The big button."""
        if self.presenter.session.desk.closing.closed:
            self.presenter.reopen()
        else:
            self.presenter.close()

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
