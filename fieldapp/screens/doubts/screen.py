"""Doubts: the glue. Every decision has the same look and nearly the same size."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, InstructionGroup, RoundedRectangle
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.screens.doubts.presenter import DoubtsPresenter, Side
from fieldapp.screens.session import Session
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Card
from fieldapp.widgets.press import Press
from fieldapp.widgets.script_text import DOT, Drawn, broken, drawn, together
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class Compared(Words):
    """A text in pieces; those that differ from the other side lie on the mark colour.

    It breaks its lines itself, so that it knows where each letter is drawn.
    """

    pieces = ListProperty([])  # (text, whether it differs)
    differs = BooleanProperty(False)  # the other side has another text
    close = BooleanProperty(False)  # more than two stand beside each other: no room for larger words

    def __init__(self, **options: Any) -> None:
        self._ground = InstructionGroup()
        super().__init__(**options)
        self.canvas.before.add(self._ground)
        self.bind(pos=self._mark, size=self._mark, texture=self._mark)
        self.bind(width=self._break, font_size=self._break, bold=self._break)
        self._break()

    def on_pieces(self, *_ignored: Any) -> None:
        self.differs = len(self.pieces) > 1 or any(differs for _text, differs in self.pieces)
        self._break()

    def _break(self, *_ignored: Any) -> None:
        whole = together("".join(text for text, _differs in self.pieces))
        pen = CoreLabel(font_name=self.font_name, font_size=self.font_size, bold=self.bold)
        self._reach: Callable[[str], float] = lambda text: float(pen.get_extents(text)[0])
        plain = drawn(whole) is Drawn.PLAIN
        self._lines = broken(whole, self._reach, self.width) if plain else [(0, whole)]
        self.text = "\n".join(line for _start, line in self._lines)
        self._mark()

    def _mark(self, *_ignored: Any) -> None:
        self._ground.clear()
        self._ground.add(Color(*App.get_running_app().look.mark))
        for x, top, wide, high in self._spots():
            self._ground.add(RoundedRectangle(pos=(x, top - high), size=(wide, high), radius=[dp(4)]))

    def _spots(self) -> Iterator[tuple[float, float, float, float]]:
        """Where what differs is drawn: left edge, top, width, height. Letters of a script that is joined or turned
        have no places of their own: there all of the text is marked."""
        if not self.differs:
            return
        top = self.y + self.height
        if drawn(self.text) is not Drawn.PLAIN:
            yield self.x, top, self.texture_size[0], self.height
            return
        high = self.texture_size[1] / len(self._lines)
        for row, (first, line) in enumerate(self._lines):
            for start, end in self._differing():
                start, end = max(start - first, 0), min(end - first, len(line))
                if start < end:
                    left, right = self._reach(line[:start]), self._reach(line[:end])
                    yield self.x + left, top - row * high, right - left, high

    def _differing(self) -> Iterator[tuple[int, int]]:
        """From which letter to which."""
        at = 0
        for text, differs in self.pieces:
            if differs:
                yield at, at + len(text)
            at += len(text)


class FactLine(BoxLayout):
    """A label and its pieces."""

    label = StringProperty("")
    pieces = ListProperty([])
    close = BooleanProperty(False)


class SideCard(Card):
    """One of the records in question."""

    heading = StringProperty("")


class SideBySide(BoxLayout):
    """The records in question; all as high as the highest where they stand beside each other."""

    needed = NumericProperty(0)

    def add_widget(self, widget: Any, *args: Any, **options: Any) -> None:
        widget.bind(minimum_height=self._measure)
        super().add_widget(widget, *args, **options)

    def stack(self, stacked: bool) -> None:
        """Under each other, each as high as it needs, or beside each other."""
        self.orientation = "vertical" if stacked else "horizontal"
        self._measure()

    def _measure(self, *_ignored: Any) -> None:
        heights = [card.minimum_height for card in self.children]
        stacked = self.orientation == "vertical"
        for card in self.children:
            card.size_hint_y, card.height = (None, card.minimum_height) if stacked else (1, card.height)
        between = self.spacing * (len(heights) - 1)
        self.needed = sum(heights) + between if stacked else max(heights, default=0)


class DoubtsScreen(Screen):
    """Only a person can decide this."""

    make = DoubtsPresenter
    presenter: DoubtsPresenter

    def __init__(self, session: Session, **options: Any) -> None:
        super().__init__(session, **options)
        self._last = [self.ids.decided.__self__, self.ids.undo.__self__]  # held while nothing is decided

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        ids.top.title, ids.top.pill = view.title, self.session.pill()
        look, roomy = App.get_running_app().look, App.get_running_app().look.roomy
        several = len(view.sides) > 2 and not roomy
        stacked = several and look.enlarged  # the child's name then stands on top
        ids.top.about = view.reasons if stacked else view.about if view.settled or look.spare else ""
        ids.question.text, ids.reasons.text = view.question, "" if stacked else view.reasons
        for part in self._last:
            if bool(view.decided) != (part.parent is not None):
                (ids.band.add_widget if view.decided else ids.band.remove_widget)(part)
        self._last[0].text = view.decided
        ids.sides.clear_widgets()
        ids.sides.needed = 0
        ids.outer.scroll_y = 1
        ids.sides.stack(stacked)
        for side in view.sides:
            card = SideCard(heading=side.heading)
            self._fill(
                card.ids.lines, side, (DOT if stacked else "\n") if several else "", len(view.sides) > 2
            )
            ids.sides.add_widget(card)
        ids.decisions.clear_widgets()
        below = len(view.decisions) > 2 and not roomy and look.enlarged  # no room beside three of them
        ids.foot.orientation = "vertical" if below else "horizontal"
        ids.decisions.spacing = look.pad if below else look.seam * 1.3
        ids.decisions.cols = max(2, min(3, len(view.decisions)) if not roomy else len(view.decisions))
        for key, words in view.decisions:
            button = Press(text=words, rank="strong", answer=True, tall=App.get_running_app().look.answer)
            button.bind(on_release=lambda _b, key=key: self.presenter.decide(key))
            ids.decisions.add_widget(button)
        ids.later.disabled, ids.later.opacity = view.empty, 0 if view.empty else 1
        ids.others.text = t("doubts.others") if view.others else ""
        ids.others.disabled = not view.others
        ids.others.opacity = 1 if view.others else 0

    @staticmethod
    def _fill(lines: Any, side: Side, between: str, close: bool) -> None:
        """The facts of a side, each with its label before it. Where several sides leave no room for that, the first
        stands for itself, and the rest are one text with something ``between`` them."""
        if not between:
            for label, pieces in side.lines:
                lines.add_widget(FactLine(label=label, pieces=pieces, close=close))
            return
        (_label, pieces), *rest = side.lines
        lines.add_widget(Compared(pieces=pieces))
        said = between.join(
            f"{label}: {''.join(text for text, _differs in pieces)}" for label, pieces in rest
        )
        lines.add_widget(Words(text=said, tone="soft"))

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {
            "escape": lambda: self.session.go("book"),
            "l": self.presenter.later,
            "u": self.presenter.undo,
        }
