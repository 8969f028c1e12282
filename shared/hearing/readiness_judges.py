"""The judges of the readiness check: one function a step, from the facts to the step's report.

Only the judges and what they report may live here; the steps' words and their order are ``readiness``'s.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

from shared.hearing.fields import EARS
from shared.hearing.protocol import Protocol
from shared.hearing.readiness_facts import ReadinessFacts
from shared.hearing.room import NOISE_SETS, LevelRuling, noise_ruling, octave_band, permitted_level

#: Days before the calibration's last one in which the station passes with a warning.
WARNING_DAYS = 31
#: One ear through each earphone must agree within this many dB (Minnesota Department of Health, page on the
#: biological calibration check, read; its last line has a misprint, the sense is "within 5 = usable").
EARPHONES_AGREE = 5

#: What to do about a tone that is not clean (common practice, no source). Earphones go with their audiometer.
SPOILT_TONE = "Change the cord, or the earphones together with their audiometer, then check again."

#: What the inspection looks at (Minnesota Department of Health, calibration page, second-hand; rest: memory).
INSPECTION = {
    "cords": "cords, flexed, without crackle or break",
    "cushions": "cushions whole and clean",
    "headband": "headband holds",
    "plugs": "plugs tight, red to the right, blue to the left",
    "controls": "dial, lamps and key",
}
INSPECTION_NEEDED = ("cords", "cushions")


class StepState(StrEnum):
    """How one step stands."""

    OPEN = "open"  # not done yet
    DONE = "done"
    FAILED = "failed"
    SKIPPED = "skipped"  # may be left out, and was


class StepReport(NamedTuple):
    """One step's outcome: what speaks against the station, what to watch, and the rule that was applied."""

    key: str
    state: StepState
    reasons: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    ruling: LevelRuling | None = None


class Pairing(NamedTuple):
    """An audiometer and the earphones calibrated with it, as an earlier check or the lead's list has them."""

    audiometer: str
    earphones: str
    calibrated: date | None = None


class Case(NamedTuple):
    """What a judge is given: facts, protocol, day, and the pairings known so far, oldest first."""

    facts: ReadinessFacts
    protocol: Protocol
    today: date
    pairs: Sequence[Pairing]


def calibration_ends(calibrated: date) -> date:
    """The last day on which a calibration holds: the same day a year later (28 February for a 29th)."""
    try:
        return calibrated.replace(year=calibrated.year + 1)
    except ValueError:
        return calibrated.replace(year=calibrated.year + 1, day=28)


def judge_equipment(case: Case) -> StepReport:
    """Both named, and known to belong together."""
    facts = case.facts
    if not facts.audiometer or not facts.earphones:
        unnamed = [name for name in ("audiometer", "earphones") if not getattr(facts, name)]
        return _open("equipment", f"Not named yet: {' and '.join(unnamed)}.")
    for pair in reversed(case.pairs):
        same_audiometer = _same(pair.audiometer, facts.audiometer)
        same_earphones = _same(pair.earphones, facts.earphones)
        if same_audiometer and same_earphones:
            break
        if same_audiometer or same_earphones:
            if pair.calibrated and facts.calibrated and facts.calibrated > pair.calibrated:
                continue  # calibrated together since: the newer pairing stands
            return _failed(
                "equipment",
                f"Earphones {facts.earphones} do not belong to audiometer {facts.audiometer}: earphones are "
                f"calibrated together with one audiometer and must not be exchanged. Use audiometer "
                f"{pair.audiometer} with earphones {pair.earphones}, or have the new pair calibrated.",
            )
    return StepReport("equipment", StepState.DONE)


def judge_calibration(case: Case) -> StepReport:
    """Within a year, its last day included; a warning in the last month."""
    calibrated = case.facts.calibrated
    if calibrated is None:
        return _open("calibration", "The calibration date is missing.")
    if calibrated > case.today:
        return _failed("calibration", "The calibration date lies in the future.")
    last_day = calibration_ends(calibrated)
    if case.today > last_day:
        return _failed(
            "calibration", f"The yearly calibration ran out on {last_day.isoformat()}: do not test with it."
        )
    if case.today > last_day - timedelta(days=WARNING_DAYS):
        warning = f"The yearly calibration runs out after {last_day.isoformat()}."
        return StepReport("calibration", StepState.DONE, warnings=(warning,))
    return StepReport("calibration", StepState.DONE)


def judge_inspection(case: Case) -> StepReport:
    """Cords and cushions looked at and in order; may be left unrecorded, with a warning."""
    found = case.facts.inspection
    if not found:
        return _skipped("inspection", "The inspection of cords and cushions is not recorded.")
    broken = [INSPECTION.get(item, item) for item, in_order in found.items() if not in_order]
    if broken:
        return _failed("inspection", f"Not in order: {', '.join(broken)}.")
    unseen = [INSPECTION[item] for item in INSPECTION_NEEDED if item not in found]
    if unseen:
        return _open("inspection", f"Not inspected yet: {', '.join(unseen)}.")
    return StepReport("inspection", StepState.DONE)


def judge_tone_off(case: Case) -> StepReport:
    """The tone is off until the key is pressed; may be left unrecorded, with a warning."""
    off = case.facts.tone_normally_off
    if off is None:
        return _skipped("tone-off", "That the tone is off until the key is pressed is not recorded.")
    if not off:
        return _failed("tone-off", "The tone must be off until the presenting key is pressed.")
    return StepReport("tone-off", StepState.DONE)


def judge_listening(case: Case) -> StepReport:
    """Every test frequency heard clean through both earphones; one that is not clean fails the check there."""
    facts = case.facts
    spoilt = {ear: facts.not_clean[ear] for ear in EARS if facts.not_clean.get(ear)}
    if spoilt:
        named = (f"{ear} earphone, {_named(hertz)} Hz. {SPOILT_TONE}" for ear, hertz in spoilt.items())
        reasons = tuple(f"Not clean in the listening check: {each}" for each in named)
        return StepReport("listening", StepState.FAILED, reasons)
    unheard = {
        ear: [hz for hz in case.protocol.frequencies if hz not in facts.listening.get(ear, ())]
        for ear in EARS
    }
    reasons = tuple(
        f"The listening check is incomplete: {ear} earphone, {_named(hertz)} Hz."
        for ear, hertz in unheard.items()
        if hertz
    )
    return StepReport("listening", StepState.OPEN if reasons else StepState.DONE, reasons)


def judge_same_ear(case: Case) -> StepReport:
    """One ear through both earphones, where tried: within 5 dB."""
    by_earphone = case.facts.same_ear
    if not by_earphone:
        return StepReport("same-ear", StepState.SKIPPED)
    right, left = (by_earphone.get(ear, {}) for ear in EARS)
    apart = [hz for hz in sorted(set(right) & set(left)) if abs(right[hz] - left[hz]) > EARPHONES_AGREE]
    if apart:
        named = ", ".join(map(str, apart))
        return _failed(
            "same-ear",
            f"One ear through both earphones differs by more than {EARPHONES_AGREE} dB at {named} Hz: "
            f"the audiometer needs an electronic check.",
        )
    return StepReport("same-ear", StepState.DONE)


def judge_level(case: Case) -> StepReport:
    """The listener's thresholds permit a screening level."""
    ruling = permitted_level(case.facts.own_thresholds, case.protocol)
    if ruling.level_db_hl is not None:
        return StepReport("level", StepState.DONE, ruling=ruling)
    given = any(case.facts.own_thresholds.values())
    return StepReport("level", StepState.FAILED if given else StepState.OPEN, (ruling.rule,), (), ruling)


def judge_noise(case: Case) -> StepReport:
    """Octave-band readings, where taken: within the chosen set at some permitted level."""
    facts = case.facts
    if not facts.noise:
        return StepReport("noise", StepState.SKIPPED)
    ruling = noise_ruling(facts.noise, case.protocol, NOISE_SETS[facts.noise_set], facts.earphone_type)
    if ruling.level_db_hl is None:
        return StepReport("noise", StepState.FAILED, (ruling.rule,), (), ruling)
    bands = {octave_band(hz) for hz in case.protocol.frequencies}
    missing = ", ".join(str(band) for band in sorted(bands - set(facts.noise)))
    warnings = (f"No noise reading at {missing} Hz.",) if missing else ()
    return StepReport("noise", StepState.DONE, (), warnings, ruling)


def _named(hertz: Iterable[int]) -> str:
    return ", ".join(map(str, sorted(hertz)))


def _open(key: str, reason: str) -> StepReport:
    return StepReport(key, StepState.OPEN, (reason,))


def _failed(key: str, reason: str) -> StepReport:
    return StepReport(key, StepState.FAILED, (reason,))


def _skipped(key: str, warning: str) -> StepReport:
    return StepReport(key, StepState.SKIPPED, (), (warning,))


def _same(one: str, other: str) -> bool:
    return one.casefold().split() == other.casefold().split()
