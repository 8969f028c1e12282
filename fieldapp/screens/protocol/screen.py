"""A protocol in full, or a copy while it is changed: the glue."""

from __future__ import annotations

from collections.abc import Callable
from itertools import takewhile
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import BooleanProperty, StringProperty

from fieldapp.screens.protocol.controls import Key, Line
from fieldapp.screens.protocol.presenter import ProtocolPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Band, Column
from fieldapp.widgets.press import Press, PressBox
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class FieldLine(PressBox):
    """A field of the protocol with its value and its mark."""

    name = StringProperty("")
    value = StringProperty("")
    mark = StringProperty("")
    wrong = StringProperty("")
    chosen = BooleanProperty(False)


class Stepper(Band):
    """A label, a value, and small keys beside it."""

    label = StringProperty("")
    value = StringProperty("")


class TallStepper(Column):
    """The same where the keys need a row of their own."""

    label = StringProperty("")
    value = StringProperty("")


class KeysBelow(Column):
    """A label, and keys to choose from below it."""

    label = StringProperty("")


class ProtocolScreen(Screen):
    """Every field on one side, what is known of the chosen one and what can be done to it on the other."""

    make = ProtocolPresenter
    presenter: ProtocolPresenter

    def enter(self, **arguments: Any) -> None:
        self._rows: dict[str, FieldLine] = {}
        self._keys: list[tuple[Press, Key]] = []
        self._shape: list[tuple[bool, int, str]] = []
        self._brought: Any = None
        super().enter(**arguments)

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.title, ids.top.about = act.title()
        self._show_ways()
        self._show_rows()
        card = act.card()
        ids.name.text, ids.value.text, ids.wrong.text = card.title, card.value, card.wrong
        ids.wrong_mark.opacity = 1 if card.wrong else 0
        ids.words.clear_widgets()
        for words, soft in card.paragraphs:
            ids.words.add_widget(Words(text=words, tone="soft" if soft else "ink", font_size=self._small))
        self._show_lines(card.lines)
        ids.hint.text = t("protocol.seeing") if act.draft is None else t("protocol.changing")

    @property
    def _small(self) -> float:
        return float(App.get_running_app().look.small)

    def _show_ways(self) -> None:
        """The buttons below the list: built once, they do not change."""
        act, t, ways = self.presenter, self.session.t, self.ids.ways
        if ways.children:
            return
        if act.draft is not None:
            offered = [(t("protocol.save"), "accent", act.save)]
        else:
            offered = [(t("protocol.use"), "accent", act.use)]
            offered += [(t("protocol.change"), "quiet", act.change)] if act.own else []
            offered += [(t("protocol.copy"), "quiet", act.copy)]
            offered += [(t("protocol.delete"), "quiet", act.delete)] if act.own else []
        ways.cols = min(2, len(offered))
        for text, rank, way in offered:
            button = Press(text=text, rank=rank)
            button.bind(on_release=lambda _b, way=way: way())
            ways.add_widget(button)

    def _show_rows(self) -> None:
        rows, t = self.presenter.rows(), self.session.t
        if [row.field for row in rows] != list(self._rows):
            self.ids.rows.clear_widgets()
            self._rows = {}
            for row in rows:
                line = FieldLine()
                line.bind(on_release=lambda _l, field=row.field: self.choose(field))
                self._rows[row.field] = line
                self.ids.rows.add_widget(line)
        for row in rows:
            line = self._rows[row.field]
            line.name, line.value, line.mark, line.chosen = row.name, row.value, row.mark, row.chosen
            line.wrong = t("protocol.wrong") if row.wrong else ""
            if row.chosen and row != self._brought:  # it may have grown
                self._brought = row
                self.ids.list.bring_soon(line)

    def _show_lines(self, lines: tuple[Line, ...]) -> None:
        """Keep the keys where only their words change: a finger or the ring goes to the same one again."""
        shape = [(line.several, len(line.keys), line.label) for line in lines]
        same = sum(
            1 for _ in takewhile(lambda pair: pair[0] == pair[1], zip(shape, self._shape, strict=False))
        )
        self._shape = shape
        for widget in self.ids.lines.children[::-1][same:]:
            self.ids.lines.remove_widget(widget)
        del self._keys[sum(len(line.keys) for line in lines[:same]) :]
        for line in lines[same:]:
            self.ids.lines.add_widget(self._made(line))
        at = 0
        for widget, line in zip(self.ids.lines.children[::-1], lines, strict=True):
            if isinstance(widget, Stepper | TallStepper):
                widget.value = line.value
            for key in line.keys:
                press, _before = self._keys[at]
                press.text, press.disabled = key.text, key.off
                press.rank, press.bold = ("chosen", True) if key.chosen else ("quiet", False)
                self._keys[at] = (press, key)
                at += 1

    def _made(self, line: Line) -> Any:
        if not line.keys:
            return Words(text=line.label, tone="soft", font_size=self._small)
        holder = self._holder(line)
        keys = holder.ids.pads
        if line.several:
            keys.cols = self._columns(line)
        elif isinstance(holder, TallStepper):
            keys.cols = len(line.keys)
        for key in line.keys:
            press = Press(text=key.text, snug=not line.several, bold=False)
            if isinstance(holder, Stepper):
                press.size_hint_x, press.width = None, max(dp(54), self._small * 2.4)
            at = len(self._keys)
            press.bind(on_release=lambda _p, at=at: self.presenter.do(self._keys[at][1]))
            self._keys.append((press, key))
            keys.add_widget(press)
        return holder

    @staticmethod
    def _holder(line: Line) -> Any:
        look = App.get_running_app().look
        if line.several:
            return KeysBelow(label=line.label)
        tight = not look.roomy or look.enlarged
        tall = len(line.keys) > 3 or (tight and len(line.label) > 18)
        return TallStepper(label=line.label) if tall else Stepper(label=line.label)

    def _columns(self, line: Line) -> int:
        longest = max(len(key.text) for key in line.keys)
        roomy = App.get_running_app().look.roomy
        fitting = 4 if longest <= 7 else 3 if longest <= 12 else 2 if longest <= 24 and roomy else 1
        return min(fitting, len(line.keys))

    def choose(self, field: str) -> None:
        """A line of the list was pressed."""
        self.ids.about.scroll_y = 1
        self.presenter.choose(field)

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": self.presenter.go_back}
