"""The first start: the glue."""

from __future__ import annotations

from pathlib import Path

from kivy.app import App
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
        ids.files.show(t("welcome.folder", folder=act.folder_name), t("welcome.none"))
        again = act.again()
        ids.again.clear_widgets()
        if again:
            title = Words(text=t("welcome.again"), weight=True, font_size=App.get_running_app().look.large)
            ids.again.add_widget(title)
        for file, words in again:
            tile = Tile(name=words, count="›")
            tile.bind(on_release=lambda _t, file=file: act.open(file))
            ids.again.add_widget(tile)
        ids.passphrase.wrong = act.wrong
        ids.receive.disabled, ids.receive.text = not act.may_receive, act.button()
