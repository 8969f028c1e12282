"""Doubts: the glue. Every decision has the same look and nearly the same size."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.graphics import Color, InstructionGroup, RoundedRectangle
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ListProperty, NumericProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.screens.doubts.presenter import DoubtsPresenter
from fieldapp.screens.session import Session
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Card
from fieldapp.widgets.press import Press
from fieldapp.widgets.script_text import Drawn, drawn, together
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class Compared(Words):
    """A text in pieces; those that differ from the other side lie on the mark colour."""

    pieces = ListProperty([])  # (text, whether it differs)
    differs = BooleanProperty(False)  # the other side has another text

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self._ground = InstructionGroup()
        self.canvas.before.add(self._ground)
        self.bind(pos=self._mark, size=self._mark, texture=self._mark)

    def on_pieces(self, *_ignored: Any) -> None:
        self.text = "".join(text for text, _differs in self.pieces)
        self.differs = len(self.pieces) > 1 or any(differs for _text, differs in self.pieces)

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
        text, at = together(self.text), 0
        for line in self._label._cached_lines:
            said = "".join(word.text for word in line.words)
            at = max(at, text.find(said, at))
            for start, end in self._differing():
                start, end = max(start - at, 0), min(end - at, len(said))
                if start < end:
                    left, right = (self._label.get_extents(said[:to])[0] for to in (start, end))
                    yield self.x + left, top, right - left, line.h
            top, at = top - line.h, at + len(said)

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


class SideCard(Card):
    """One of the records in question."""

    heading = StringProperty("")


class SideBySide(BoxLayout):
    """The records in question; all as high as the highest."""

    needed = NumericProperty(0)

    def add_widget(self, widget: Any, *args: Any, **options: Any) -> None:
        widget.bind(minimum_height=self._measure)
        super().add_widget(widget, *args, **options)

    def _measure(self, *_ignored: Any) -> None:
        self.needed = max((card.minimum_height for card in self.children), default=0)


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
        ids.top.about = view.about
        ids.question.text, ids.reasons.text = view.question, view.reasons
        for part in self._last:
            if bool(view.decided) != (part.parent is not None):
                (ids.band.add_widget if view.decided else ids.band.remove_widget)(part)
        self._last[0].text = view.decided
        ids.sides.clear_widgets()
        ids.sides.needed = 0
        ids.outer.scroll_y = 1
        roomy = App.get_running_app().look.roomy
        narrow = not roomy and len(view.sides) > 2  # no room for the labels beside the facts
        for side in view.sides:
            card = SideCard(heading=side.heading)
            lines = card.ids.lines
            for label, pieces in side.lines:
                if narrow:
                    lines.add_widget(Words(text=f"{label}: {''.join(text for text, _differs in pieces)}"))
                    continue
                lines.add_widget(FactLine(label=label, pieces=pieces))
            ids.sides.add_widget(card)
        ids.decisions.clear_widgets()
        look = App.get_running_app().look
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

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {
            "escape": lambda: self.session.go("book"),
            "l": self.presenter.later,
            "u": self.presenter.undo,
        }
