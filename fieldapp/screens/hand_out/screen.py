"""Handing out: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.files import broken_path
from fieldapp.screens.hand_out.presenter import NAMES, HandOutPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.press import Press
from fieldapp.widgets.words import Named, PathWords, Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class HandOutScreen(Screen):
    """One handout a tablet."""

    make = HandOutPresenter
    presenter: HandOutPresenter

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        act, ids, look = self.presenter, self.ids, App.get_running_app().look
        tall = look.target if look.roomy else look.least
        for name in NAMES:
            key = Press(text=name, tall=tall)
            key.bind(on_release=lambda _k, name=name: act.choose_name(name))
            ids.names.add_widget(key)
        for name in act.all_classes():
            key = Press(text=name, tall=tall)
            key.bind(on_release=lambda _k, name=name: act.turn_class(name))
            ids.classes.add_widget(key)
        ids.classes.cols = min(6, max(1, len(act.all_classes())))
        self.refresh()

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.pill = self.session.pill()
        ids.handed.clear_widgets()
        for name, words in act.handed():
            ids.handed.add_widget(Named(name=name, words=words))
        if not act.handed():
            ids.handed.add_widget(Words(text=t("hand_out.none"), tone="soft"))
        book = t("hand_out.book_file", path=broken_path(Path(self.session.store_path).resolve()))
        ids.handed.add_widget(PathWords(said=book, tone="soft"))
        for key in ids.names.children:
            key.rank = "chosen" if key.text == act.name else "quiet"
        for key in ids.classes.children:
            key.rank = "chosen" if key.text in act.classes else "quiet"
        ids.chosen.text = ", ".join(sorted(act.classes)) or t("hand_out.all_classes")
        if ids.passphrase.text != act.passphrase:  # another tablet was chosen
            ids.passphrase.text, ids.passphrase.secret = act.passphrase, True
        ids.advice.text = act.advice()
        ids.write.disabled = not act.may_write
        ids.write.rank = "quiet" if act.done else "accent"
        ids.write.text = act.button()
        if act.done != ids.done.text:
            ids.done.text, ids.next.text = act.done, act.next
            ids.scroll.scroll_y = 0 if act.done else 1

    def suggest(self) -> None:
        """Fill in four made-up words, shown so that they can be written down."""
        self.ids.passphrase.secret = False
        self.ids.passphrase.text = self.presenter.suggest()

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("book")}
