"""Boxes that hold other widgets: the card, the two-handed row, the scroll, the column."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from fieldapp.widgets.press import Pressable

Builder.load_file(str(Path(__file__).with_name("box.kv")))


SIGN = dp(18)  # the strip at the foot of a scroll, on which the sign lies


class Closed:
    """Mixed into a box: what takes no space in it, such as words that are empty, takes no gap either."""

    def _iterate_layout(self, sizes: list[Any]) -> Iterator[tuple[float, ...]]:
        box: Any = self
        along = 0 if box.orientation == "horizontal" else 1
        seen = [at for at, (size, hint, *_) in enumerate(sizes) if hint[along] is not None or size[along] > 0]
        if not seen:
            box.minimum_size = box.padding[0] + box.padding[2], box.padding[1] + box.padding[3]
            return
        for at, *where in super()._iterate_layout([sizes[at] for at in seen]):  # type: ignore[misc]
            yield seen[at], *where


class Column(Closed, BoxLayout):
    """Things under each other, each as high as it needs."""


def more_below(scroll: Any) -> bool:
    """Whether something lies below what a scroll shows."""
    inside = scroll.children[0] if scroll.children else None
    return bool(inside is not None and (inside.height - scroll.height) * scroll.scroll_y > dp(4))


def lies_on_a_card(widget: Any) -> bool:
    """Whether a widget is on a card rather than on the screen's own background."""
    above = widget.parent
    while above is not None and above.parent is not above:
        if isinstance(above, Card):
            return True
        above = above.parent
    return False


def even(presses: list[Any]) -> None:
    """Make buttons of one row equally high."""
    tallest = max((press.natural for press in presses), default=0)
    for press in presses:
        press.stretch = tallest


class EvenRow:
    """Mixed into a layout: its buttons are all as high as the highest, also when a text changes later. With
    ``by_row`` only those that stand beside each other are."""

    by_row = BooleanProperty(False)

    def add_widget(self, widget: Any, *args: Any, **options: Any) -> None:
        if isinstance(widget, Pressable):
            widget.bind(natural=self._trigger_layout)  # type: ignore[attr-defined]
        super().add_widget(widget, *args, **options)  # type: ignore[misc]

    def do_layout(self, *ignored: Any) -> None:
        children = self.children  # type: ignore[attr-defined]
        presses = [child for child in children if isinstance(child, Pressable) and child.size_hint_y is None]
        row = self.cols if self.by_row else len(presses) or 1  # type: ignore[attr-defined]
        first = presses[::-1]  # children stand in the order in which they were added, the newest first
        for start in range(0, len(first), row):
            even(first[start : start + row])
        super().do_layout(*ignored)  # type: ignore[misc]


class Band(EvenRow, Closed, BoxLayout):
    """Things beside each other, as high as the highest; its buttons are equally high."""


class Scrolled(Column):
    """A column inside a ``Scroll``: it leaves the bar its room."""


class Choices(EvenRow, GridLayout):
    """Buttons to choose from, in columns, all equally high."""


class Card(BoxLayout):
    """Something to read, on a card. ``stripe`` names a colour for the band on its left, or is empty; ``inset`` is
    another padding than the usual one, which stays when the stripe changes."""

    stripe = StringProperty("")
    inset = ListProperty([])


class Mark(BoxLayout):
    """Something that must not be overlooked, on the mark colour."""


class Sides(BoxLayout):
    """The two halves of a screen; the last one lies on the side of the screener's hand."""

    children: Any

    def on_kv_post(self, base: Any) -> None:
        if App.get_running_app().look.left_handed:
            self.children = self.children[::-1]
            self.do_layout()


class Scroll(ScrollView):
    """A scroll with a bar that can be seen; a sign on its own strip says that there is more below.

    ``room`` is what its content leaves free on the right for the bar: nothing where nothing scrolls, so that the
    content then ends where its neighbours end.
    """

    room = NumericProperty(0)

    def on_viewport_size(self, *_ignored: Any) -> None:
        self._begin_on_top()
        later(self._make_room)

    on_height = on_viewport_size

    def _make_room(self) -> None:
        """Narrower content is never lower, so this comes to rest, if each width is laid out before it is judged."""
        self.room = dp(16) if self.viewport_size[1] > self.height + dp(1) else 0

    def _begin_on_top(self) -> None:
        """What needs no scrolling stands on top, also where it was scrolled before it was laid out."""
        if 0 < self.viewport_size[1] <= self.height:
            self.scroll_y = 1

    def bring(self, widget: Any) -> None:
        """Scroll to a widget, where not everything is in sight."""
        inside = self.children[0] if self.children else None
        if inside is None or inside.height <= self.height:
            self.scroll_y = 1
            return
        self.scroll_to(widget, padding=SIGN, animate=False)
        foot = widget.to_window(*widget.pos)[1] - inside.to_window(*inside.pos)[1]
        hidden = inside.height - self.height
        if foot < hidden * self.scroll_y + SIGN:  # the sign that there is more would lie over it
            self.scroll_y = max(0.0, (foot - SIGN) / hidden)

    def bring_soon(self, widget: Any) -> None:
        """The same, once what has just changed is laid out: a frame for the widget, one for what lies around it."""
        later(lambda: later(lambda: self.bring(widget)))


class Gap(Widget):
    """Empty space that takes what is left."""


class Space(Widget):
    """Empty space of one gap."""


class Meter(Widget):
    """A bar that fills. ``value`` from 0 to 1."""

    value = NumericProperty(0.0)


def later(what: Any, seconds: float = 0) -> None:
    """Run after the frame that is being drawn."""
    Clock.schedule_once(lambda _dt: what(), seconds)
