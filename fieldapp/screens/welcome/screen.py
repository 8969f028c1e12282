"""The first start: the glue."""

from __future__ import annotations

from pathlib import Path

from kivy.lang import Builder

from fieldapp.screens.stage import Screen
from fieldapp.screens.welcome.presenter import WelcomePresenter
from fieldapp.widgets.rows import Tile
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class WelcomeScreen(Screen):
    """A tablet takes its handout, a lead prepares a visit."""

    make = WelcomePresenter
    presenter: WelcomePresenter

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.folder.text = t("welcome.folder", folder=act.folder.name or str(act.folder))
        ids.files.clear_widgets()
        for found in act.files():
            tile = Tile(name=found.name, count="›" if found.folder else "", chosen=found.path == act.handout)
            tile.bind(on_release=lambda _t, found=found: act.choose(found))
            ids.files.add_widget(tile)
        if not act.files():
            ids.files.add_widget(Words(text=t("welcome.none"), tone="soft"))
        ids.passphrase.wrong = act.wrong
        ids.receive.disabled = act.busy or act.handout is None
        ids.receive.text = t("unlock.opening") if act.busy else t("welcome.receive")
