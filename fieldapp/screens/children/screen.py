"""The book's children: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.add_child.screen import ClassPlate
from fieldapp.screens.children.presenter import ChildrenPresenter
from fieldapp.screens.searching import SearchScreen

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class ChildrenScreen(SearchScreen):
    """Kinds on one side, children on the other, letters to find one."""

    make = ChildrenPresenter
    presenter: ChildrenPresenter
    _found = ""  # how many, in words

    def refresh(self) -> None:
        super().refresh()
        view, ids = self.presenter.view(), self.ids
        ids.top.pill = self.session.pill()
        ids.tiles.show(view.tiles)
        ids.list.show(view.rows)
        ids.classes.text = view.class_words
        self._found = "" if view.empty else view.found
        self._show_found()
        self.say(view.empty)

    def pad(self, there: bool) -> None:
        """Show the letters, or put them away; where a low screen is enlarged, the count makes room."""
        super().pad(there)
        self._show_found()

    def _show_found(self) -> None:
        look = App.get_running_app().look
        crowded = look.low and look.enlarged and self._letters.parent is not None
        self.ids.found.text = "" if crowded else self._found

    def choose_class(self) -> None:
        """Open the classes."""
        act, t = self.presenter, self.session.t
        classes = {"": t("children.all_classes"), **{name: name for name in act.classes()}}
        self.session.lay(ClassPlate(t("children.classes"), classes, act.class_name, act.choose_class))

    def keys(self) -> dict[str, Callable[[], Any]]:
        return self.letter_keys(self.presenter.back)
