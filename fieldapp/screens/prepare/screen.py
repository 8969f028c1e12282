"""Preparing a visit: the glue."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.uix.boxlayout import BoxLayout

from fieldapp.screens.prepare.presenter import MINUTES, STEPS, PreparePresenter
from fieldapp.screens.readiness.screen import StepLine
from fieldapp.screens.stage import Screen
from fieldapp.widgets.press import Press
from fieldapp.widgets.rows import Tile
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class RosterStep(BoxLayout):
    """Choose the file, see what could be read."""


class SchoolStep(BoxLayout):
    """The school's name and the days."""


class ProtocolStep(BoxLayout):
    """The rule, with its source and marks."""


class PlanStep(BoxLayout):
    """How long it will take."""


class PassphraseStep(BoxLayout):
    """The book's passphrase."""


PARTS: dict[str, Any] = {
    "roster": RosterStep,
    "school": SchoolStep,
    "protocol": ProtocolStep,
    "plan": PlanStep,
    "passphrase": PassphraseStep,
}


class PrepareScreen(Screen):
    """From the school's class list to a visit book."""

    make = PreparePresenter
    presenter: PreparePresenter

    def enter(self, **arguments: Any) -> None:
        self._open = ""
        super().enter(**arguments)

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        ids.top.about = t("readiness.about", step=STEPS.index(act.step) + 1, steps=len(STEPS))
        if not ids.steps.children:
            for step in STEPS:
                line = StepLine()
                line.bind(on_release=lambda _l, step=step: act.open_step(step))
                ids.steps.add_widget(line)
        for line, (_step, title, now, done, opens) in zip(ids.steps.children[::-1], act.signs(), strict=True):
            line.text, line.sign, line.disabled = title, "✓" if done else "", not opens
            line.rank = "chosen" if now else "quiet"
        if self._open != act.step:
            self._open = act.step
            ids.body.clear_widgets()
            self._part: Any = PARTS[act.step]()
            self._part.presenter = act
            ids.body.add_widget(self._part)
            getattr(self, f"_build_{act.step}")()
        getattr(self, f"_show_{act.step}")()
        ids.onward.text = act.button()
        ids.onward.disabled = act.busy or not act.filled(act.step)

    def _build_roster(self) -> None:
        self._part.ids.files.choice = self.presenter

    def _show_roster(self) -> None:
        act, ids, t = self.presenter, self._part.ids, self.session.t
        ids.files.show(t("prepare.folder", folder=act.folder_name))
        words, problems = act.roster_words()
        ids.words.text = words
        ids.problems.clear_widgets()
        for problem in problems:
            ids.problems.add_widget(Words(text=problem))

    def _build_school(self) -> None:
        act, ids = self.presenter, self._part.ids
        ids.school.text = act.school
        ids.school.bind(text=lambda _f, text: act.type_school(text))
        ids.earlier.bind(on_release=lambda *_: act.turn_weeks(-1))
        ids.later.bind(on_release=lambda *_: act.turn_weeks(1))
        self._days: dict[str, Press] = {}

    def _show_school(self) -> None:
        act, ids = self.presenter, self._part.ids
        days = act.coming_days()
        if list(self._days) != [iso for iso, _words, _chosen in days]:
            ids.days.clear_widgets()
            look = App.get_running_app().look
            size = look.small if look.enlarged else look.body  # a day is one line in every cell
            self._days = {iso: Press(text=words, bold=False, font_size=size) for iso, words, _chosen in days}
            for iso, key in self._days.items():
                key.bind(on_release=lambda _k, iso=iso: act.turn_day(iso))
                ids.days.add_widget(key)
        for iso, _words, chosen in days:
            self._days[iso].rank = "chosen" if chosen else "quiet"
        ids.chosen.text, ids.range.text = act.days_words(), act.range_words()
        before, after = act.may_turn
        ids.earlier.disabled, ids.later.disabled = not before, not after

    def _build_protocol(self) -> None:
        act = self.presenter
        for name, title, sign in act.protocols():
            tile = Tile(name=f"{title} ({sign})" if sign else title)
            tile.key = name
            tile.bind(on_release=lambda tile: act.choose_protocol(tile.key))
            self._part.ids.protocols.add_widget(tile)
        self._part.ids.see.bind(on_release=lambda *_: act.see_protocol())

    def _show_protocol(self) -> None:
        ids, view = self._part.ids, self.presenter.protocol_view()
        for tile in ids.protocols.children:
            chosen = tile.key == view.name
            if chosen and not tile.chosen:
                ids.protocols.parent.bring_soon(tile)
            tile.chosen = chosen
        ids.title.text, ids.rule.text, ids.source.said = view.title, view.rule, view.source
        ids.see.disabled = not self.presenter.filled("protocol")
        ids.checked.text, ids.marks.text, ids.cautions.text = view.checked, view.marks, view.cautions

    def _build_plan(self) -> None:
        act, ids = self.presenter, self._part.ids
        ids.fewer.bind(on_release=lambda *_: act.set_plan(tablets=act.tablets - 1))
        ids.more.bind(on_release=lambda *_: act.set_plan(tablets=act.tablets + 1))
        for minutes in MINUTES:
            key = Press(text=f"{minutes:g}")
            key.minutes = minutes
            key.bind(on_release=lambda key: act.set_plan(minutes=key.minutes))
            ids.minutes.add_widget(key)
        ids.all.bind(on_release=lambda *_: act.set_only_due(False))
        ids.due.bind(on_release=lambda *_: act.set_only_due(True))
        self._who = ids.who.__self__

    def _show_plan(self) -> None:
        act, ids = self.presenter, self._part.ids
        ids.count.text, ids.words.text = str(act.tablets), act.plan_words()
        if not act.outside() and self._who.parent is not None:
            self._who.parent.remove_widget(self._who)
        ids.all.rank, ids.due.rank = ("quiet", "chosen") if act.only_due else ("chosen", "quiet")
        ids.outside.text = act.outside_words()
        for key in ids.minutes.children:
            key.rank = "chosen" if key.minutes == act.minutes else "quiet"

    def _build_passphrase(self) -> None:
        act, ids = self.presenter, self._part.ids
        ids.passphrase.text = act.passphrase
        ids.passphrase.bind(text=lambda _f, text: act.type_passphrase(text))
        ids.suggest.bind(on_release=lambda *_: self._suggest())
        ids.place.bind(on_release=lambda *_: act.ask_place())

    def _suggest(self) -> None:
        field = self._part.ids.passphrase
        field.secret, field.text = False, self.presenter.suggest()
        self._show_passphrase()

    def _show_passphrase(self) -> None:
        act, ids, t = self.presenter, self._part.ids, self.session.t
        ids.advice.text = act.advice()
        ids.book.said = t("prepare.book_file", path=str(act.book))

    def keys(self) -> dict[str, Callable[[], Any]]:
        return {"escape": lambda: self.session.go("welcome")}
