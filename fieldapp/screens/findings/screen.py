"""An examiner's audiogram: the glue."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder

from fieldapp.screens.findings.draft import AFTER, BEFORE, MASKED, MINUS, NO_RESPONSE
from fieldapp.screens.findings.presenter import ABOUT, SHOWN, TYPING, FindingsPresenter, FindingsView
from fieldapp.screens.findings.words import sources
from fieldapp.screens.stage import Screen
from fieldapp.widgets.pads_signs import ERASE
from fieldapp.widgets.press import Press
from fieldapp.widgets.sheet import Plate
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))

ROOMY_PAD = (
    "1",
    "2",
    "3",
    ERASE,
    "4",
    "5",
    "6",
    MINUS,
    "7",
    "8",
    "9",
    MASKED,
    BEFORE,
    "0",
    AFTER,
    NO_RESPONSE,
)
TIGHT_PAD = (
    "1",
    "2",
    "3",
    "4",
    "5",
    BEFORE,
    AFTER,
    ERASE,
    "6",
    "7",
    "8",
    "9",
    "0",
    MINUS,
    MASKED,
    NO_RESPONSE,
)
MOST_CELLS = 10


class ColumnKey(Press):
    """One column of the audiogram: an ear by air or by bone."""


class ToneKey(Press):
    """One frequency of the column in hand."""

    hz = 0


class SignKey(Press):
    """One key of the pad."""


class DayPlate(Plate):
    """Choosing the day of the examination, over the screen."""


class FindingsScreen(Screen):
    """The chart on one side; on the other the pad, then the rest of the reply, or what to do with what is saved."""

    make = FindingsPresenter
    presenter: FindingsPresenter

    def __init__(self, session: Any, **options: Any) -> None:
        super().__init__(session, **options)
        names = ("drawn", "told", "typing", "about", "shown")
        self._parts = {name: self.ids[name].__self__ for name in names}
        self._columns = [ColumnKey() for _ in range(4)]
        for key in self._columns:
            key.bind(on_release=lambda key: self.presenter.open_column(*key.column))
            self.ids.columns.add_widget(key)
        self._tones = [ToneKey() for _ in range(MOST_CELLS)]
        for key in self._tones:
            key.bind(on_release=lambda key: self.presenter.choose(key.hz))
            self.ids.cells.add_widget(key)
        roomy, t = App.get_running_app().look.roomy, session.t
        said = {MASKED: t("findings.masked" if roomy else "findings.sign_masked")}
        said[NO_RESPONSE] = t("findings.no_response" if roomy else "findings.sign_silent")
        for sign in ROOMY_PAD if roomy else TIGHT_PAD:
            key = SignKey(text=said.get(sign, sign))
            key.bind(on_release=lambda _key, sign=sign: self.presenter.press(sign))
            self.ids.pad.add_widget(key)

    def enter(self, **arguments: Any) -> None:
        super().enter(**arguments)
        self.ids.examiner.text, self.ids.note.text = self.presenter.examiner, self.presenter.note

    def refresh(self) -> None:
        view, ids, t = self.presenter.view(), self.ids, self.session.t
        ids.top.title, ids.top.pill = self.presenter.name, self.session.pill()
        ids.top.about, ids.top.brief = t("findings.title"), t("findings.title_brief")
        self._place(view.step)
        ids.chart.show(view.readings)
        if view.step == TYPING:
            self._show_typing(view)
        else:
            self._show_figures(view)
        ids.day.text, ids.lacking.text, ids.save.disabled = view.day, view.lacking, not view.may_save
        if view.step == ABOUT:
            self._show_earphones(view)

    def _place(self, step: str) -> None:
        """Put the parts of this step on their sides."""
        sides = {
            TYPING: (("drawn",), ("typing",)),
            ABOUT: (("told",), ("about",)),
            SHOWN: (("drawn",), ("shown",)),
        }[step]
        for holder, names in zip((self.ids.left, self.ids.right), sides, strict=True):
            wanted = [self._parts[name] for name in names]
            if list(holder.children) != wanted:
                holder.clear_widgets()
                for part in wanted:
                    if part.parent is not None:
                        part.parent.remove_widget(part)
                    holder.add_widget(part)
        told, shown = self._parts["told"], self._parts["shown"]
        if step == SHOWN and told.parent is not shown:
            if told.parent is not None:
                told.parent.remove_widget(told)
            shown.add_widget(told, index=len(shown.children))

    def _show_typing(self, view: FindingsView) -> None:
        ids = self.ids
        for key, (ear, conduction, words, chosen) in zip(self._columns, view.columns, strict=True):
            key.column = (ear, conduction)
            key.text, key.rank = words, "chosen" if chosen else "quiet"
            key.tone = "" if chosen else ear
        for place, key in enumerate(self._tones):
            there = place < len(view.cells)
            key.opacity, key.disabled = float(there), not there
            if there:
                cell = view.cells[place]
                key.hz, key.text, key.rank = cell.hz, cell.words, "chosen" if cell.chosen else "quiet"
        ids.hand.text, ids.hand.weight = view.wrong or view.hand, bool(view.wrong)
        ids.onward.disabled = not view.may_go_on

    def _show_figures(self, view: FindingsView) -> None:
        look, t = App.get_running_app().look, self.session.t
        self.ids.figures.clear_widgets()
        if view.about:
            self.ids.figures.add_widget(Words(text=view.about))
        for heading, words in view.figures:
            self.ids.figures.add_widget(Words(text=heading, weight=True, font_size=look.small))
            self.ids.figures.add_widget(Words(text=words, font_size=look.small))
        for words in (t("findings.handover"), sources(t)):
            self.ids.figures.add_widget(Words(text=words, tone="soft", font_size=look.small))

    def _show_earphones(self, view: FindingsView) -> None:
        self.ids.earphones.clear_widgets()
        for key, words, chosen in view.earphones:
            button = Press(
                text=words, rank="chosen" if chosen else "quiet", font_size=App.get_running_app().look.small
            )
            button.bind(on_release=lambda _b, key=key: self.presenter.choose_earphones(key))
            self.ids.earphones.add_widget(button)

    def choose_day(self) -> None:
        """Open the date picker."""
        t = self.session.t
        plate = DayPlate(t("findings.examined"))
        months = [t(f"month.{n}") for n in range(1, 13)]
        plate.ids.picker.offer(self.presenter.years(), months, self.presenter.examined)
        plate.ids.picker.bind(chosen=lambda _p, iso: self._took_day(plate, iso))
        self.session.lay(plate)

    def _took_day(self, plate: Any, iso: str) -> None:
        if iso:
            plate.close()
            self.presenter.set(examined=iso)

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        found: dict[str, Callable[[], Any]] = {"escape": act.go_back}
        if act.step != TYPING:
            return found
        signs = {**{digit: digit for digit in "0123456789"}, "-": MINUS, "backspace": ERASE, "delete": ERASE}
        signs |= {
            "m": MASKED,
            "n": NO_RESPONSE,
            "left": BEFORE,
            "right": AFTER,
            "enter": AFTER,
            "pedal": AFTER,
        }
        found |= {key: partial(act.press, sign) for key, sign in signs.items()}
        return found | {"up": lambda: act.turn(-1), "down": lambda: act.turn(1)}
