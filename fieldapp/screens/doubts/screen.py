"""Doubts: the glue. Every decision has the same look and nearly the same size."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import BooleanProperty, StringProperty
from kivy.uix.boxlayout import BoxLayout

from fieldapp.screens.doubts.presenter import DoubtsPresenter
from fieldapp.screens.session import Session
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Card
from fieldapp.widgets.press import Press
from fieldapp.widgets.words import Tag, Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class Piece(Tag):
    """A piece of a text; one that differs lies on the mark colour."""

    differs = BooleanProperty(False)


class FactLine(BoxLayout):
    """A label and its pieces."""

    label = StringProperty("")


class SideCard(Card):
    """One of the records in question."""

    heading = StringProperty("")


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
        roomy = App.get_running_app().look.roomy
        narrow = not roomy and len(view.sides) > 2  # no room for the labels beside the facts
        for side in view.sides:
            card = SideCard(heading=side.heading)
            lines = card.ids.lines
            for label, pieces in side.lines:
                if narrow:
                    lines.add_widget(Words(text=f"{label}: {''.join(text for text, _differs in pieces)}"))
                    continue
                line = FactLine(label=label)
                if len(pieces) == 1 and not pieces[0][1]:
                    line.ids.pieces.add_widget(Words(text=pieces[0][0]))
                else:
                    for text, differs in pieces:
                        line.ids.pieces.add_widget(Piece(text=text, differs=differs))
                    line.ids.pieces.add_widget(Words())
                lines.add_widget(line)
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
