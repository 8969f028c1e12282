"""Lists of children: rows that are reused while scrolling, at most five hundred of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.properties import BooleanProperty, NumericProperty, ObjectProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.recycleview import RecycleView
from kivy.uix.recycleview.views import RecycleDataViewBehavior

from fieldapp.widgets.press import PressBox
from fieldapp.widgets.words import Text

Builder.load_file(str(Path(__file__).with_name("rows.kv")))


class NameLine(Text):
    """A child's name; a long one takes more lines, or has its family name shortened: the given name stays."""


class StandingLine(Text):
    """Where a child stands; what does not fit on one line takes two smaller ones."""

    long = BooleanProperty(False)


class RowBody(PressBox):
    """The part of a row that chooses the child."""


class ChildRow(RecycleDataViewBehavior, BoxLayout):
    """One child: name, birth date, where it stands, and a way to everything else about it."""

    name = StringProperty("")
    born = StringProperty("")
    status = StringProperty("")
    waiting = BooleanProperty(False)  # not yet seen: pressing begins the walk
    child = StringProperty("")
    number = NumericProperty(0)

    def refresh_view_attrs(self, view: Any, index: int, data: dict[str, Any]) -> None:
        self.number = index
        super().refresh_view_attrs(view, index, data)


class ChildList(RecycleView):
    """The list; tells its screen which child was chosen."""

    data: Any
    __events__ = ("on_choose", "on_more")

    def on_choose(self, child: str) -> None:
        """A row was pressed."""

    def on_more(self, child: str) -> None:
        """The end of a row was pressed."""

    def show(self, rows: list[dict[str, Any]]) -> None:
        """Show these rows from the top."""
        if rows != self.data:
            self.data = rows
        self.scroll_y = 1


class ClassTile(RecycleDataViewBehavior, PressBox):
    """A class and its count, in a list that may hold a hundred of them."""

    name = StringProperty("")
    count = StringProperty("")
    chosen = BooleanProperty(False)
    key = ObjectProperty(None, allownone=True)

    def on_release(self) -> None:
        """Tell the list which class it is."""
        self.parent.parent.dispatch("on_choose", self.key)


class ClassList(RecycleView):
    """The classes, in one column or more; only those in sight are built."""

    data: Any
    columns = NumericProperty(1)

    __events__ = ("on_choose",)

    def on_choose(self, key: Any) -> None:
        """A class was pressed."""

    def show(self, tiles: list[tuple[Any, str, str, bool]]) -> None:
        """Show (key, name, count, chosen) tiles; the place in the list is kept."""
        data = [
            {"key": key, "name": name, "count": count, "chosen": chosen} for key, name, count, chosen in tiles
        ]
        if data != self.data:
            self.data = data


class Tile(PressBox):
    """A line with a name and a count, to choose from."""

    name = StringProperty("")
    count = StringProperty("")
    chosen = BooleanProperty(False)
