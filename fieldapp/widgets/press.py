"""What can be pressed: buttons of four ranks, pills and choices. Their look is in press.kv."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, OptionProperty, StringProperty
from kivy.uix.behaviors import ButtonBehavior
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.label import Label

from fieldapp.widgets.scripted import Scripted

Builder.load_file(str(Path(__file__).with_name("press.kv")))


LEADING = dp(14)


class Pressable(ButtonBehavior):
    """Shared by everything that can be pressed by finger, key or pedal.

    ``focused`` draws the ring of the hardware keyboard; ``answer`` marks the targets that must be at least
    12 mm high and act when the finger lands rather than when it leaves.
    """

    focused = BooleanProperty(False)
    answer = BooleanProperty(False)
    ground = ListProperty([0, 0, 0, 0])
    border = ListProperty([0, 0, 0, 0])
    border_width = NumericProperty(1)
    natural = NumericProperty(0)  # the height that its own words need
    stretch = NumericProperty(0)  # the height of its neighbours in a row

    def press(self) -> None:
        """Do what a finger would do; a disabled button does nothing."""
        if not self.disabled:
            self.dispatch("on_press")
            self.dispatch("on_release")


class Press(Scripted, Pressable, Label):
    """A button. Ranks: ``accent`` the one usual next step, ``strong`` its equal, ``quiet`` the rest,
    ``chosen`` the picked one of several, ``bare`` a button in a row of text."""

    rank = OptionProperty("quiet", options=("accent", "strong", "quiet", "chosen", "bare"))
    fit = BooleanProperty(False)  # as wide as its words
    aside = BooleanProperty(False)  # the keys come to it after all else
    tone = StringProperty("")  # a colour name instead of the rank's own text colour
    tall = NumericProperty(0)  # the least height; a text of several lines makes it taller
    snug = BooleanProperty(False)  # a word or number that must never be broken
    beside = NumericProperty(0)  # the space left and right of the words where it is as wide as they are

    def on_kv_post(self, base: Any) -> None:
        self._measure()

    def on_texture_size(self, *_ignored: Any) -> None:
        self._measure()

    def on_stretch(self, *_ignored: Any) -> None:
        self._measure()

    def on_tall(self, *_ignored: Any) -> None:
        self._measure()

    def _measure(self) -> None:
        wide, high = self.texture_size
        if self.fit:
            self.width = wide + self.beside if self.text else 0
        if self.size_hint_y is None:
            self.natural = max(self.tall, high + LEADING)
            self.height = max(self.natural, self.stretch)


class PressBox(Pressable, BoxLayout):
    """A button that holds several texts."""

    rank = OptionProperty("quiet", options=("accent", "strong", "quiet", "chosen", "bare"))


class Pill(Press):
    """A small rounded button or sign in the bar on top."""


class WayBack(Pill):
    """The way back: before the title, on every screen and every sheet."""

    to = StringProperty("")  # where to, in words; empty: back


def ground_of(look: Any, rank: str, state: str, disabled: bool) -> list[float]:
    """The ground colour of a rank; a pressed one is a shade darker, whichever it is, so that two answers
    look the same from where the child sits."""
    base = {
        "accent": look.accent,
        "strong": look.card,
        "quiet": look.raised,
        "chosen": look.strong,
        "bare": look.clear,
    }[rank]
    if disabled:
        return list(look.shut if rank != "bare" else look.clear)
    if state == "down":
        return [channel * 0.93 for channel in base[:3]] + [max(base[3], 0.06)]
    return list(base)


def width_of(look: Any, rank: str, disabled: bool) -> float:
    """How wide the border of a rank is; none where it has the colour of the ground."""
    if rank in ("accent", "chosen") and not disabled:
        return 0.0
    return float(look.firm if rank == "strong" else look.hair)


def border_of(look: Any, rank: str, disabled: bool) -> list[float]:
    """The border colour of a rank."""
    if disabled:
        return list(look.shut_edge if rank != "bare" else look.clear)
    return list(
        {
            "accent": look.accent,
            "strong": look.ink,
            "quiet": look.edge,
            "chosen": look.strong,
            "bare": look.clear,
        }[rank]
    )


def ink_of(look: Any, rank: str, disabled: bool, tone: str = "") -> list[float]:
    """The text colour of a rank."""
    if disabled:
        return list(look.off)
    if tone:
        return list(getattr(look, tone))
    return list({"accent": look.on_accent, "chosen": look.on_strong}.get(rank, look.ink))
