"""The readiness check, step by step: equipment, calibration, listening, own thresholds, verdict. No Kivy."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.session import Session
from fieldapp.widgets.pads_signs import ERASE
from shared.hearing.readiness import INSPECTION, REMINDERS
from shared.hearing.room import EARPHONE_TYPES, NOISE_SETS, octave_band
from shared.records.entries import EARS, Kind

STEPS = ("equipment", "calibrated", "inspection", "listening", "own", "noise", "verdict")
TONE_OFF = "tone_off"
ITEMS = (*INSPECTION, TONE_OFF)  # what is looked at
LEVELS = tuple(range(-10, 45, 5))  # dB HL offered for one's own threshold
LONGEST_NUMBER = 16

Tone = tuple[str, int]


@dataclass(frozen=True, slots=True)
class StepSign:
    """One step in the list of steps."""

    title: str
    now: bool
    done: bool


@dataclass(frozen=True, slots=True)
class VerdictView:
    """What the check came to."""

    title: str
    words: str
    passed: bool
    reminders: tuple[str, ...] = ()


class ReadinessPresenter(Presenter):
    """Keeps what was entered until the check is made; leaving the screen forgets nothing before that."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._begin()

    def enter(self) -> None:
        if self.verdict is not None:
            self._begin()

    def _begin(self) -> None:
        self.step = STEPS[0]
        self.numbers = {"audiometer": "", "earphones": ""}
        self.typing = "audiometer"
        self.calibrated = ""
        self.found: dict[str, bool] = {}  # item -> in order
        self.clean: set[Tone] = set()
        self.own: dict[Tone, int] = {}
        steps = self.session.station.visit.protocol.steps()
        # As one reads the grid, not as a child is walked: the own thresholds are asked for row by row.
        self.tones: tuple[Tone, ...] = tuple(sorted(steps, key=lambda tone: (EARS.index(tone[0]), tone[1])))
        self.asked: Tone = self.tones[0]
        self.bands = sorted({octave_band(hz) for _ear, hz in self.tones})
        self.noise: dict[int, str] = dict.fromkeys(self.bands, "")  # dB SPL as typed; empty: not measured
        self.band = self.bands[0]
        self.noise_set = next(iter(NOISE_SETS))
        self.earphone_type = EARPHONE_TYPES[0]
        self.verdict: VerdictView | None = None

    # -- moving between the steps ----------------------------------------------------------------

    def filled(self, step: str) -> bool:
        """Whether a step has what it needs."""
        return {
            "equipment": all(self.numbers.values()),
            "calibrated": bool(self.calibrated),
            "inspection": set(self.found) >= set(ITEMS),
            "listening": self.clean >= set(self.tones),
            "own": set(self.own) >= set(self.tones),
            "noise": True,  # only with a sound level meter
            "verdict": self.verdict is not None,
        }[step]

    def open_step(self, step: str) -> None:
        """Go to a step; the verdict only comes by checking."""
        if step != "verdict":
            self.step = step
            self.verdict = None
            self.changed()

    def onward(self) -> None:
        """The next step that still lacks something, or the check itself."""
        if self.step == "verdict":
            self.session.go("next_child" if self.verdict and self.verdict.passed else "today")
            return
        following = STEPS[STEPS.index(self.step) + 1]
        if following != "verdict":
            self.open_step(following)
        else:
            self.check()

    def check(self) -> None:
        """Record the check; what is missing is among its reasons."""
        facts: dict[str, Any] = {
            **self.numbers,
            "calibrated": self.calibrated,
            "inspection": {item: fine for item, fine in self.found.items() if item != TONE_OFF},
            "listening": {ear: [hz for hz in self._hertz() if (ear, hz) in self.clean] for ear in EARS},
            "own_thresholds": {
                ear: {str(hz): self.own[ear, hz] for hz in self._hertz() if (ear, hz) in self.own}
                for ear in EARS
            },
        }
        if TONE_OFF in self.found:
            facts["tone_normally_off"] = self.found[TONE_OFF]
        measured = {str(band): float(typed) for band, typed in self.noise.items() if typed}
        if measured:
            chosen = {"noise_set": self.noise_set, "earphone_type": self.earphone_type}
            facts |= {"noise": measured, **chosen}
        if not self.calibrated:
            del facts["calibrated"]
        found: list[Any] = []
        if not self.guarded(lambda: found.append(self.session.station.check_readiness(facts))):
            return
        result, t = found[0], self.t
        said = [*result.reasons, *([result.rule] if result.passed and result.rule else []), *result.warnings]
        title = t("readiness.passed", level=result.level_db_hl) if result.passed else t("readiness.failed")
        words = "\n".join(t.sentence(each) for each in said)
        reminders = tuple(t.sentence(reminder.words) for reminder in REMINDERS) if result.passed else ()
        self.verdict = VerdictView(title, words, result.passed, reminders)
        self.step = "verdict"
        self.changed()

    def last_time(self) -> dict[str, str]:
        """The equipment of this tablet's last check, which is most often today's too."""
        ledger = getattr(self.session.station, "ledger", None)
        if ledger is None:
            return {}
        checks = [e for e in ledger.register.entries(Kind.READINESS_CHECKED) if e.device == ledger.device]
        if not checks:
            return {}
        body = max(checks, key=lambda entry: entry.stamp).body
        return {name: str(body.get(name, "")) for name in ("audiometer", "earphones", "calibrated")}

    def take_last_time(self) -> None:
        """The labels are the same as last time."""
        last = self.last_time()
        self.calibrated = last.pop("calibrated", "")
        self.numbers |= last
        self.changed()

    # -- entering --------------------------------------------------------------------------------

    def press(self, sign: str) -> None:
        """A key of the equipment pad."""
        text = self.numbers[self.typing]
        self.numbers[self.typing] = text[:-1] if sign == ERASE else (text + sign)[:LONGEST_NUMBER]
        self.changed()

    def type_into(self, field: str) -> None:
        """Which number the pad writes."""
        self.typing = field
        self.changed()

    def choose_date(self, iso: str) -> None:
        """The calibration's date."""
        self.calibrated = iso
        self.changed()

    def tap_item(self, item: str) -> None:
        """An item is in order; a second tap says that it is not, a third that it was not looked at."""
        if item not in self.found:
            self.found[item] = True
        elif self.found[item]:
            self.found[item] = False
        else:
            del self.found[item]
        self.changed()

    def tap_tone(self, tone: Tone) -> None:
        """A tone was clean, or was not after all."""
        self.clean ^= {tone}
        self.changed()

    def press_noise(self, sign: str) -> None:
        """A key of the pad for the band in hand: whole dB SPL."""
        typed = self.noise[self.band]
        self.noise[self.band] = (typed + sign)[:3] if sign.isdigit() else typed[:-1]
        self.changed()

    def choose_band(self, band: int) -> None:
        """Which band the pad writes."""
        self.band = band
        self.changed()

    def turn_noise_set(self) -> None:
        """The other published set of limits."""
        names = list(NOISE_SETS)
        self.noise_set = names[(names.index(self.noise_set) + 1) % len(names)]
        self.changed()

    def turn_earphone_type(self) -> None:
        """The other kind of earphone."""
        kinds = list(EARPHONE_TYPES)
        self.earphone_type = kinds[(kinds.index(self.earphone_type) + 1) % len(kinds)]
        self.changed()

    def ask(self, tone: Tone) -> None:
        """Which tone's own threshold is entered next."""
        self.asked = tone
        self.changed()

    def choose_level(self, level: int) -> None:
        """The own threshold at the asked tone; goes on to the next tone without one, in reading order."""
        self.own[self.asked] = level
        open_tones = [tone for tone in self.tones if tone not in self.own]
        if open_tones:
            self.asked = open_tones[0]
        self.changed()

    # -- what is shown ---------------------------------------------------------------------------

    def _hertz(self) -> list[int]:
        return sorted({hz for _ear, hz in self.tones})

    def signs(self) -> list[StepSign]:
        """The list of steps."""
        at = STEPS.index(self.step)
        done = {step: self.filled(step) and (step != "noise" or at > STEPS.index("noise")) for step in STEPS}
        return [
            StepSign(self.t(f"readiness.{step}"), step == self.step, done[step] and step != self.step)
            for step in STEPS
        ]

    def calibrated_words(self) -> str:
        """How long ago that was."""
        if not self.calibrated:
            return self.t("readiness.not_chosen")
        days = (self.session.clock().date() - date.fromisoformat(self.calibrated)).days
        near = {0: "readiness.this_day", 1: "readiness.day_before"}
        ago = self.t(near.get(days, "readiness.days_ago"), days=days) if days >= 0 else ""
        last = self.t("readiness.last_calibrated", day=phrases.short_date(self.t, self.calibrated))
        return " · ".join(part for part in (last, ago) if part)

    def items(self) -> list[tuple[str, str, str]]:
        """(item, what to look at, what was found)."""
        word = {None: "unchecked", True: "fine", False: "broken"}
        return [
            (item, self.t(f"readiness.item_{item}"), self.t(f"readiness.{word[self.found.get(item)]}"))
            for item in ITEMS
        ]

    def grid(self) -> list[tuple[str, list[tuple[Tone, bool, str]]]]:
        """For listening and own thresholds: per ear, its tones with whether they are set and a word."""
        rows = []
        for ear in EARS:
            cells = []
            for hz in self._hertz():
                tone = (ear, hz)
                if self.step == "listening":
                    done = tone in self.clean
                    word = "✓ " + self.t("readiness.clean") if done else self.t("readiness.unchecked")
                else:
                    done = tone in self.own
                    word = f"{self.own[tone]} dB" if done else "–"
                cells.append((tone, done, word))
            rows.append((ear, cells))
        return rows
