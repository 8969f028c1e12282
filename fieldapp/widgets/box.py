"""Boxes that hold other widgets: the card, the two-handed row, the scroll, the column."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.lang import Builder
from kivy.properties import BooleanProperty, ListProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

Builder.load_file(str(Path(__file__).with_name("box.kv")))


class Column(BoxLayout):
    """Things under each other, each as high as it needs."""


class Band(BoxLayout):
    """Things beside each other, as high as the highest."""


class Card(BoxLayout):
    """Something to read, on a card. ``stripe`` names a colour for the band on its left, or is empty."""

    stripe = StringProperty("")


class Mark(BoxLayout):
    """Something that must not be overlooked, on the mark colour."""


class Sides(BoxLayout):
    """The two halves of a screen; the last one lies on the side of the screener's hand."""

    def on_kv_post(self, base: Any) -> None:
        if App.get_running_app().look.left_handed:
            self.children = self.children[::-1]
            self.do_layout()


class Scroll(ScrollView):
    """A scroll with a bar that can be seen."""


class Gap(Widget):
    """Empty space that takes what is left."""


class Space(Widget):
    """Empty space of one gap."""


class Meter(Widget):
    """A bar that fills. ``value`` from 0 to 1."""

    value = ListProperty([0.0])


class Hairline(Widget):
    """A line between things."""

    upright = BooleanProperty(False)


def later(what: Any, seconds: float = 0) -> None:
    """Run after the frame that is being drawn."""
    Clock.schedule_once(lambda _dt: what(), seconds)
