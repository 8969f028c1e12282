"""The readiness check's glue: the steps on one side, the open step on the other."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.gridlayout import GridLayout

from fieldapp.screens.readiness.presenter import LEVELS, STEPS, ReadinessPresenter
from fieldapp.screens.stage import Screen
from fieldapp.widgets.box import Band
from fieldapp.widgets.pads_signs import EQUIPMENT, typing
from fieldapp.widgets.press import Press, PressBox
from fieldapp.widgets.words import OneLine
from shared.hearing.room import EARPHONE_TYPES, NOISE_SETS

Builder.load_file(str(Path(__file__).with_name("screen.kv")))


class StepLine(PressBox):
    """One step in the list."""

    text = StringProperty("")
    sign = StringProperty("")


class NumberBox(PressBox):
    """A number typed on the pad below it."""

    label = StringProperty("")
    text = StringProperty("")


class EquipmentStep(BoxLayout):
    """Two numbers and the pad."""


class CalibratedStep(BoxLayout):
    """The date on the label."""


class ItemLine(PressBox):
    """One thing to look at."""

    text = StringProperty("")
    found = StringProperty("")


class InspectionStep(BoxLayout):
    """Cords, cushions and the rest."""


class GridStep(BoxLayout):
    """A grid of tones, for listening and for one's own thresholds."""


class NoiseStep(BoxLayout):
    """Octave-band readings, where there is a sound level meter."""


class Reminder(Band):
    """One of the things to remember, behind its dot."""

    words = StringProperty("")


class VerdictStep(BoxLayout):
    """What it came to."""


class ReadinessScreen(Screen):
    """A station proves every day that it is fit to test."""

    make = ReadinessPresenter
    presenter: ReadinessPresenter
    rests = True

    def enter(self, **arguments: Any) -> None:
        self._open = ""
        super().enter(**arguments)

    def refresh(self) -> None:
        act, ids, t = self.presenter, self.ids, self.session.t
        at = STEPS.index(act.step)
        ids.top.about = t("readiness.about", step=at + 1, steps=len(STEPS))
        ids.top.pill = self.session.pill()
        if not ids.steps.children:
            for step in STEPS:
                line = StepLine()
                line.bind(on_release=lambda _l, step=step: act.open_step(step))
                ids.steps.add_widget(line)
        for line, sign in zip(ids.steps.children[::-1], act.signs(), strict=True):
            line.text = sign.title
            line.sign = "!" if sign.failed else "✓" if sign.done else "–" if sign.skipped else ""
            line.rank = "chosen" if sign.now else "quiet"
            if sign.now:
                ids.steps_scroll.bring_soon(line)
        if self._open != act.step:
            self._build(act.step)
        getattr(self, f"_show_{act.step}")()
        ids.onward.text = t("readiness.check") if act.last else t("readiness.next")
        if act.fault_found:
            ids.onward.text = t("readiness.fault")
        ids.onward.disabled = not self._may_go_on()
        ids.onward.rank = "accent" if self._may_go_on() else "quiet"
        if act.step == "verdict" and act.verdict is not None:
            ids.onward.text = t("readiness.start") if act.verdict.passed else t("readiness.today")

    def _build(self, step: str) -> None:
        self._open = step
        body, act = self.ids.body, self.presenter
        body.clear_widgets()
        kinds: dict[str, Any] = {
            "equipment": EquipmentStep,
            "calibrated": CalibratedStep,
            "inspection": InspectionStep,
            "noise": NoiseStep,
            "verdict": VerdictStep,
        }
        self._part: Any = kinds.get(step, GridStep)()
        body.add_widget(self._part)
        ids = self._part.ids
        if step == "equipment":
            ids.pad.bind(on_key=lambda _p, sign: act.press(sign))
            self._same = ids.same.__self__  # held while it is not offered
            ids.same.bind(on_release=lambda _b: act.take_last_time())
            for field in ("audiometer", "earphones"):
                ids[field].bind(on_release=lambda _b, field=field: act.type_into(field))
        elif step == "calibrated":
            today = self.session.clock().date()
            months = [self.session.t(f"month.{n}") for n in range(1, 13)]
            ids.picker.offer(range(today.year, today.year - 3, -1), months, act.calibrated)
            ids.picker.bind(chosen=lambda _p, iso: act.choose_date(iso))
        elif step == "inspection":
            self._items = {}
            for item, *_ in act.items():
                line = ItemLine()
                line.bind(on_release=lambda _l, item=item: act.tap_item(item))
                self._items[item] = line
                ids.lines.add_widget(line)
        elif step == "noise":
            ids.pad.bind(on_key=lambda _p, sign: act.press_noise(sign))
            self._sets = self._choices(ids.sets, NOISE_SETS, act.choose_noise_set)
            self._kinds = self._choices(ids.kinds, EARPHONE_TYPES, act.choose_earphone_type)
            self._bands = {}
            for band in act.bands:
                box = NumberBox(label=f"{band} Hz")
                box.bind(on_release=lambda _b, band=band: act.choose_band(band))
                self._bands[band] = box
                ids.bands.add_widget(box)
        elif step in ("listening", "own"):
            self._build_grid()

    def _choices(self, holder: Any, names: Iterable[str], choose: Callable[[str], Any]) -> dict[str, Press]:
        """A button for each of some things of which one holds."""
        buttons = {name: Press(bold=False) for name in names}
        for name, button in buttons.items():
            button.bind(on_release=lambda _b, name=name: choose(name))
            holder.add_widget(button)
        return buttons

    def _build_grid(self) -> None:
        act, t, look = self.presenter, self.session.t, App.get_running_app().look
        holder = self._part.ids.grid
        rows = act.grid()
        hertz = [tone[1] for tone, *_ in rows[0][1]]
        grid = GridLayout(cols=len(hertz) + 1, spacing=look.seam, size_hint_y=None)
        grid.bind(minimum_height=grid.setter("height"))
        side = {"size_hint_x": None, "width": look.body * 5}
        grid.add_widget(OneLine(**side))
        for hz in hertz:
            grid.add_widget(
                OneLine(text=t("readiness.tone", hz=hz), halign="center", tone="soft", font_size=look.small)
            )
        # On a low screen the cells give way to the levels below them.
        tall = look.answer if look.roomy or act.step == "listening" else look.target
        self._cells: dict[Any, Press] = {}
        for ear, cells in rows:
            grid.add_widget(OneLine(text=t(f"ear.{ear}_row"), tone=ear, weight=True, size_hint_y=1, **side))
            for tone, *_ in cells:
                cell = Press(tall=tall, font_size=look.small, bold=False)
                tap = act.tap_tone if act.step == "listening" else act.ask
                cell.bind(on_release=lambda _c, tone=tone, tap=tap: tap(tone))
                self._cells[tone] = cell
                grid.add_widget(cell)
        holder.add_widget(grid)
        if act.step == "own":
            levels = GridLayout(cols=6, spacing=look.seam, size_hint_y=None)
            levels.bind(minimum_height=levels.setter("height"))
            for level in LEVELS:
                key = Press(text=str(level).replace("-", "–"), bold=False, font_size=look.large)
                key.bind(on_release=lambda _k, level=level: act.choose_level(level))
                levels.add_widget(key)
            holder.add_widget(levels)

    def _show_equipment(self) -> None:
        act, ids = self.presenter, self._part.ids
        for field in ("audiometer", "earphones"):
            ids[field].text = act.numbers[field]
            ids[field].rank = "strong" if act.typing == field else "quiet"
        last = act.last_time()
        both = (last.get("audiometer"), last.get("earphones"))
        said = "\u00a0·\u00a0".join(text for text in both if text)  # on one line
        offered = bool(said) and act.numbers["audiometer"] != last["audiometer"]
        roomy = App.get_running_app().look.roomy
        t = self.session.t
        self._same.text = t("readiness.same_as", number=said) if roomy else t("readiness.same_short")
        if offered and self._same.parent is None:
            ids.numbers.add_widget(self._same)
        elif not offered and self._same.parent is not None:
            ids.numbers.remove_widget(self._same)

    def _show_calibrated(self) -> None:
        act, look = self.presenter, App.get_running_app().look
        asked = not act.calibrated and not look.roomy  # a low screen has one line for both
        self._part.ids.said.text = (
            self.session.t("readiness.calibrated_words") if asked else act.calibrated_words()
        )

    def _show_inspection(self) -> None:
        for item, text, found in self.presenter.items():
            line = self._items[item]
            line.text, line.found = text, found

    def _show_noise(self) -> None:
        act, t = self.presenter, self.session.t
        for band, box in self._bands.items():
            box.text, box.rank = act.noise[band], "strong" if band == act.band else "quiet"
        for key, buttons, holds in (
            ("set", self._sets, act.noise_set),
            ("kind", self._kinds, act.earphone_type),
        ):
            for name, button in buttons.items():
                text = t(f"readiness.{key}_{name.replace('.', '-')}")
                button.text, button.rank = (f"✓ {text}", "chosen") if name == holds else (text, "quiet")

    def _show_grid(self, step: str) -> None:
        """A low screen shows what has to be tapped, and above it only what one must know for that."""
        act, ids, look, t = self.presenter, self._part.ids, App.get_running_app().look, self.session.t
        watch, carried, spoilt = act.asked_words(), act.carried_words(), act.spoilt_words()
        shorter = look.enlarged and not look.roomy
        words = t(f"readiness.{step}_short" if shorter else f"readiness.{step}_words")
        below = spoilt
        if look.roomy:
            watch = f"{watch} {carried}".strip()
        elif spoilt:  # what to do now instead of all else
            watch, words, below = spoilt, "", ""
        else:
            below = carried
        ids.asked.text, ids.words.text, ids.below.text = watch, words, below
        for _ear, cells in act.grid():
            for tone, done, word in cells:
                cell = self._cells[tone]
                asked = act.step == "own" and tone == act.asked and not act.filled("own")
                bad = act.step == "listening" and tone in act.spoilt
                cell.text, cell.rank = word, "chosen" if bad else "strong" if asked else "quiet"
                cell.bold = done or asked

    def _show_listening(self) -> None:
        self._show_grid("listening")

    def _show_own(self) -> None:
        self._show_grid("own")

    def _show_verdict(self) -> None:
        verdict = self.presenter.verdict
        if verdict is not None:
            ids = self._part.ids
            ids.title.text, ids.words.text = verdict.title, verdict.words
            ids.reminders.clear_widgets()
            for words in verdict.reminders:
                ids.reminders.add_widget(Reminder(words=words))

    def keys(self) -> dict[str, Callable[[], Any]]:
        act = self.presenter
        keys: dict[str, Callable[[], Any]] = {
            "escape": lambda: self.session.go("today"),
            "pedal": self._pedal,
        }
        if act.next_box and App.get_running_app().stage.ring.idle:  # after the last box Tab moves the ring
            keys["tab"] = act.to_next_box
        if act.step == "noise":
            keys |= typing(act.press_noise)
        if act.step == "equipment":
            keys |= typing(lambda sign: act.press(sign.upper()), EQUIPMENT.lower())
        return keys

    def _may_go_on(self) -> bool:
        return self.presenter.filled(self.presenter.step) or self.presenter.fault_found

    def _pedal(self) -> None:
        if self._may_go_on():
            self.presenter.onward()
