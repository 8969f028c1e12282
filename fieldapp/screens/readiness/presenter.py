"""The readiness check, step by step: equipment, calibration, listening, own thresholds, verdict. No Kivy.

After the station watch it is the short way: only what the watch asks about is entered, the rest is carried over.
"""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass
from datetime import date
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.session import Session
from fieldapp.services.readying import ShortCheck
from fieldapp.widgets.pads_signs import ERASE
from shared.hearing.readiness import INSPECTION, REMINDERS, ReadinessResult, StepState
from shared.hearing.readiness_repeat import FACTS_OF
from shared.hearing.room import EARPHONE_TYPES, NOISE_SETS, octave_band
from shared.records.entries import EARS, Kind

#: The screen's step for each step of the rules.
_SHOWN_AS = {"calibration": "calibrated", "tone-off": "inspection", "level": "own", "same-ear": "own"}
STEPS = ("equipment", "calibrated", "inspection", "listening", "own", "noise", "verdict")
TONE_OFF = "tone_off"
ITEMS = (*INSPECTION, TONE_OFF)  # what is looked at
LEVELS = tuple(range(-10, 45, 5))  # dB HL offered for one's own threshold
LONGEST_NUMBER = 16

#: What of a check that was begun is kept over the lock; nothing of it is about a child.
_NUMBERS = ("step", "numbers", "typing", "calibrated", "found", "clean", "spoilt", "own", "asked")
_ENTERED = (*_NUMBERS, "noise", "band", "noise_set", "earphone_type", "other_equipment")

Tone = tuple[str, int]


@dataclass(frozen=True, slots=True)
class StepSign:
    """One step in the list of steps."""

    title: str
    now: bool
    done: bool
    skipped: bool = False  # gone past with nothing entered, which is allowed
    failed: bool = False  # what the verdict holds against the station was found there


@dataclass(frozen=True, slots=True)
class VerdictView:
    """What the check came to."""

    title: str
    words: str
    passed: bool
    reminders: tuple[str, ...] = ()
    failed: frozenset[str] = frozenset()  # the steps at which it was found


class ReadinessPresenter(Presenter):
    """Keeps what was entered until the check is made; leaving the screen forgets nothing before that."""

    def __init__(self, session: Session) -> None:
        super().__init__(session)
        self._begin()
        self._take_up()

    def leave(self) -> None:
        """Keep what was begun for a screen that is built anew: after the lock, or when the tablet is turned."""
        begun = self.verdict is None and self.short is None
        self.session.begun_check = {"whose": self._whose(), **self._entered()} if begun else {}

    def _entered(self) -> dict[str, Any]:
        """What was entered so far, as copies."""
        return {name: copy(getattr(self, name)) for name in _ENTERED}

    def _whose(self) -> tuple[Any, ...]:
        """For whom a check that was begun is good: own thresholds are the screener's, all else is the day's."""
        station, day = self.session.station, self.session.clock().date()
        return self.session.store_path, station.visit.tablet, station.screener, day, self.tones

    def _take_up(self) -> None:
        """Go on with a check that the lock interrupted, where it is the same screener's of the same day."""
        begun = dict(self.session.begun_check)
        if self.short is not None or begun.pop("whose", None) != self._whose():
            return
        for name, value in begun.items():
            setattr(self, name, copy(value))

    def enter(self) -> None:
        asked = self.session.station.short_check is not None
        if self.verdict is not None or (not self.other_equipment and asked is (self.short is None)):
            self._begin()

    def _begin(self) -> None:
        self.step = STEPS[0]
        self.numbers = {"audiometer": "", "earphones": ""}
        self.typing = "audiometer"
        self.calibrated = ""
        self.found: dict[str, bool] = {}  # item -> in order
        self.clean: set[Tone] = set()
        self.spoilt: set[Tone] = set()  # crackling, weak, in the other ear, or silent
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
        self.short = self.session.station.short_check
        self.other_equipment = False  # typed after the station watch asked: the whole check then
        self.to_do: tuple[str, ...] = STEPS[:-1]  # the steps to go through
        if self.short is not None:
            self._carry_over(self.short)

    def _carry_over(self, short: ShortCheck) -> None:
        """Fill in what was found at the passed check; begin with what is asked for now."""
        again = {_SHOWN_AS.get(step, step) for step in short.steps}
        self.to_do = tuple(step for step in STEPS if step in again)
        self.step = self.to_do[0]
        facts = short.facts
        self.numbers = {name: str(facts.get(name, "")) for name in self.numbers}
        self.calibrated = str(facts.get("calibrated", ""))
        self.found = dict(facts.get("inspection", {}))
        if "tone_normally_off" in facts:
            self.found[TONE_OFF] = bool(facts["tone_normally_off"])
        self.clean = {(ear, hz) for ear, heard in facts.get("listening", {}).items() for hz in heard}
        own = facts.get("own_thresholds", {})
        self.own = {(ear, int(hz)): level for ear, found in own.items() for hz, level in found.items()}

    # -- moving between the steps ----------------------------------------------------------------

    def filled(self, step: str) -> bool:
        """Whether a step has what it needs."""
        return {
            "equipment": all(self.numbers.values()),
            "calibrated": bool(self.calibrated),
            "inspection": set(self.found) >= set(ITEMS) or self.carried("inspection"),
            "listening": self.clean | self.spoilt >= set(self.tones),
            "own": set(self.own) >= set(self.tones),
            "noise": True,  # only with a sound level meter
            "verdict": self.verdict is not None,
        }[step]

    def carried(self, step: str) -> bool:
        """Whether a step is taken over from the check that passed before."""
        return self.short is not None and step not in self.to_do

    @property
    def fault_found(self) -> bool:
        """Whether the open step shows a fault, which ends the check here: nothing more need be entered."""
        if self.step == "listening":
            return bool(self.spoilt)
        return self.step == "inspection" and not all(self.found.values())

    @property
    def last(self) -> bool:
        """Whether the check is made after the open step."""
        return self.fault_found or self.step == self.to_do[-1] or self.step not in self.to_do

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
        if self.last:
            self.check()
        else:
            self.open_step(self.to_do[self.to_do.index(self.step) + 1])

    def check(self) -> None:
        """Record the check; what is missing is among its reasons."""
        facts: dict[str, Any] = {
            **self.numbers,
            "calibrated": self.calibrated,
            "inspection": {item: fine for item, fine in self.found.items() if item != TONE_OFF},
            "listening": self._by_ear(self.clean),
            "not_clean": {ear: hertz for ear, hertz in self._by_ear(self.spoilt).items() if hertz},
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
        short = self.short is not None
        if self.short is not None:
            given = {name for step in self.short.steps for name in FACTS_OF[step]}
            facts = {name: value for name, value in facts.items() if name in given}
        station, found = self.session.station, []
        if not self.guarded(lambda: found.append(station.check_readiness(facts, carry_over=short))):
            return
        result, t = found[0], self.t
        told = [result.rule, *result.warnings] if result.passed else _told(result)
        said = [each for each in told if each]
        title = t("readiness.passed", level=result.level_db_hl) if result.passed else t("readiness.failed")
        words = "\n".join(t.sentence(each) for each in said)
        failed = {step.key for step in result.steps if step.state is StepState.FAILED}
        if failed & {"level", "noise"}:  # the rule says what is too high, not what to do
            words += "\n" + t("readiness.not_fit")
        reminders = tuple(t.sentence(reminder.words) for reminder in REMINDERS) if result.passed else ()
        shown = frozenset(_SHOWN_AS.get(key, key) for key in failed)
        self.verdict = VerdictView(title, words, result.passed, reminders, shown)
        self.step = "verdict"
        self.changed()

    def _by_ear(self, tones: set[Tone]) -> dict[str, list[int]]:
        return {ear: [hz for hz in self._hertz() if (ear, hz) in tones] for ear in EARS}

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
        if self.short is not None:
            self._whole()
        self.numbers[self.typing] = text[:-1] if sign == ERASE else (text + sign)[:LONGEST_NUMBER]
        self.changed()

    def _whole(self) -> None:
        """Other equipment: nothing that was found with the old one is carried over."""
        numbers, typing = self.numbers, self.typing
        self._begin()
        self.short, self.to_do, self.step, self.other_equipment = None, STEPS[:-1], STEPS[0], True
        self.numbers, self.typing = numbers, typing
        self.calibrated, self.found, self.clean, self.own = "", {}, set(), {}

    def type_into(self, field: str) -> None:
        """Which number the pad writes."""
        self.typing = field
        self.changed()

    @property
    def next_box(self) -> str | int | None:
        """The box of the open step after the one that is written in, or None."""
        if self.step == "equipment" and self.typing == "audiometer":
            return "earphones"
        if self.step == "noise" and self.band != self.bands[-1]:
            return self.bands[self.bands.index(self.band) + 1]
        return None

    def to_next_box(self) -> None:
        """On to it, as one expects of the Tab key."""
        box = self.next_box
        if isinstance(box, str):
            self.type_into(box)
        elif box is not None:
            self.choose_band(box)

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
        """A tone was clean; a second tap says that it was not, a third that it was not listened to."""
        if tone in self.clean:
            self.clean -= {tone}
            self.spoilt |= {tone}
        elif tone in self.spoilt:
            self.spoilt -= {tone}
        else:
            self.clean |= {tone}
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

    def choose_noise_set(self, name: str) -> None:
        """Which published set of limits."""
        self.noise_set = name
        self.changed()

    def choose_earphone_type(self, kind: str) -> None:
        """Which kind of earphone."""
        self.earphone_type = kind
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
        measured = any(self.noise.values())
        signs = []
        for step in STEPS:
            now, unmeasured = step == self.step, step == "noise" and not measured
            failed = self.verdict is not None and step in self.verdict.failed
            done = self.filled(step) and not now and not unmeasured and not failed
            skipped = unmeasured and at > STEPS.index(step)
            signs.append(StepSign(self.t(f"readiness.{step}"), now, done, skipped, failed))
        return signs

    def asked_words(self) -> str:
        """What the station watch asks for, where this is the short way."""
        return "" if self.short is None else self.t.sentence(self.session.station.ready.asked)

    def carried_words(self) -> str:
        """How far the short way goes, and what it leaves out."""
        if self.short is None:
            return ""
        carried = self.t("readiness.carried", time=phrases.clock_time(self.t, self.short.passed_at))
        return f"{self.t('readiness.whole')} {carried}" if "listening" in self.short.steps else carried

    def spoilt_words(self) -> str:
        """What to do about tones that were not clean."""
        if not self.spoilt or self.step != "listening":
            return ""
        tones = tuple(tone for tone in self.tones if tone in self.spoilt)
        return self.t("readiness.spoilt", tones=phrases.hertz(self.t, tones))

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
                    done = tone in self.clean or tone in self.spoilt
                    heard = (
                        "✓ " + self.t("readiness.clean")
                        if tone in self.clean
                        else self.t("readiness.not_clean")
                    )
                    word = heard if done else self.t("readiness.unchecked")
                else:
                    done = tone in self.own
                    word = f"{self.own[tone]} dB".replace("-", "–") if done else "–"
                cells.append((tone, done, word))
            rows.append((ear, cells))
        return rows


def _told(result: ReadinessResult) -> tuple[str, ...]:
    """The reasons against the station: its faults, and only where there are none, what is missing."""
    faults = [each for each in result.steps if each.state is StepState.FAILED]
    return tuple(reason for each in faults for reason in each.reasons) or result.reasons
