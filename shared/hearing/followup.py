"""What a child is owed after each result: the stages and their windows of days.

Only the way from results to the next step may live here. Days are given, never asked of a clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from shared.errors import Refused
from shared.hearing.protocol import REFER, RESCREEN, THRESHOLD, Protocol
from shared.hearing.referral import ReferralRule, Ruling, ThresholdOutcome, not_reliable

PASSED, REFERRED = "passed", "referred"

Window = tuple[date, date]


@dataclass(frozen=True, slots=True)
class StageResult:
    """One finished screening (with its same-session retest, if any) on a day."""

    day: date
    passed: bool


@dataclass(frozen=True, slots=True)
class Disposition:
    """Where results leave a child: ``status`` is passed, rescreen, threshold or referred.

    ``window`` is the first and last day of the next step; a rule without a last day gives ``date.max``.
    ``why`` says in words for the screener which rule decided. It never says what the child has.
    """

    status: str
    window: Window | None
    why: str


class Timing(StrEnum):
    """Where a day lies against a window."""

    TOO_EARLY = "too-early"
    DUE = "due"
    OVERDUE = "overdue"


def timing(window: Window, today: date) -> Timing:
    """Too early before the first day, due from the first to the last, overdue after it."""
    first, last = window
    if today < first:
        return Timing.TOO_EARLY
    return Timing.DUE if today <= last else Timing.OVERDUE


def rescreen_window(protocol: Protocol, failed_on: date) -> Window:
    """The days on which the rescreen after a failing screening is due."""
    first, last = protocol.rescreen_days
    return (failed_on + timedelta(days=first), date.max if last is None else failed_on + timedelta(days=last))


def disposition(
    protocol: Protocol, screenings: Sequence[StageResult], thresholds: Sequence[ThresholdOutcome] = ()
) -> Disposition:
    """Where these results leave the child, by the protocol's stages.

    A screening before the rescreen window opens is not the rescreen: it neither passes nor fails the child
    again. A late one counts. Once a child is at the threshold stage or referred, a passing screening takes it
    off neither. Raises ``Refused`` where there is no result at all.
    """
    if not screenings and not thresholds:
        raise Refused("There is no result yet, so nothing follows from it.")
    stands = _after_screenings(protocol, sorted(screenings, key=lambda result: result.day))
    return _after_thresholds(protocol, stands, screenings, thresholds)


def _after_screenings(protocol: Protocol, results: Sequence[StageResult]) -> Disposition | None:
    stands: Disposition | None = None
    for result in results:
        if stands is None or stands.status == PASSED:
            stands = _passed("Answered every tone.") if result.passed else _first_fail(protocol, result.day)
        elif stands.status == RESCREEN and stands.window is not None:
            if timing(stands.window, result.day) is Timing.TOO_EARLY:
                first = stands.window[0].isoformat()
                why = f"Walked again before the rescreen window; the rescreen is due from {first}."
                stands = Disposition(RESCREEN, stands.window, why)
            elif result.passed:
                stands = _passed("Passed the rescreen.")
            else:
                stands = _next_stage(
                    protocol, protocol.after_second_fail, result.day, "Missed at the rescreen"
                )
    return stands


def _first_fail(protocol: Protocol, day: date) -> Disposition:
    return _next_stage(protocol, protocol.after_first_fail, day, "Missed at the screening")


def _next_stage(protocol: Protocol, stage: str, day: date, missed: str) -> Disposition:
    if stage == RESCREEN:
        window = rescreen_window(protocol, day)
        local = ", window set locally" if protocol.rescreen_set_locally else ""
        return Disposition(RESCREEN, window, f"{missed}; rescreen by {protocol.title}{local}.")
    if stage == THRESHOLD:
        return Disposition(THRESHOLD, None, f"{missed}; threshold test by {protocol.title}.")
    assert stage == REFER
    return Disposition(REFERRED, None, f"{missed}; referral by {protocol.title}.")


def _passed(why: str) -> Disposition:
    return Disposition(PASSED, None, why)


def _after_thresholds(
    protocol: Protocol,
    stands: Disposition | None,
    screenings: Sequence[StageResult],
    thresholds: Sequence[ThresholdOutcome],
) -> Disposition:
    if not thresholds:
        return stands or _no_rule(protocol)
    if protocol.referral is None:
        reached = stands or _no_rule(protocol)
    else:
        reached = _by_referral_rule(protocol, protocol.referral, stands, screenings, thresholds)
    tests = protocol.referral.tests if protocol.referral is not None else 1
    days = sorted({outcome.day for outcome in thresholds})[-tests:]
    counted = [outcome for outcome in thresholds if outcome.day in days]
    said = (reached.why, unreliable_words(not_reliable(counted)))
    return replace(reached, why=" ".join(filter(None, said)))


def _no_rule(protocol: Protocol) -> Disposition:
    return Disposition(
        THRESHOLD, None, f"{protocol.title} has no referral rule for thresholds: for the team lead."
    )


def unreliable_words(disagreed: Sequence[tuple[str, int]]) -> str:
    """That a threshold test is not reliable, and what to do; empty where it is.

    The retest must agree within 5 dB, else the child is instructed anew and tested again (ASHA 2005, from memory);
    that a test which still disagrees is not to be relied upon follows from it.
    """
    if not disagreed:
        return ""
    tones = "; ".join(f"{ear} {hz} Hz" for ear, hz in disagreed)
    return f"Not reliable: the tries at {tones} did not agree within 5 dB. The test should be repeated."


def _by_referral_rule(
    protocol: Protocol,
    rule: ReferralRule,
    stands: Disposition | None,
    screenings: Sequence[StageResult],
    thresholds: Sequence[ThresholdOutcome],
) -> Disposition:
    verdict = rule.judge(thresholds)
    said = "; ".join(verdict.why)
    if verdict.ruling is Ruling.REFER:
        return Disposition(REFERRED, None, f"Referral by {protocol.title}: {said}.")
    if verdict.ruling is Ruling.REPEAT and verdict.repeat_from is not None:
        window = (verdict.repeat_from, date.max)
        return Disposition(
            THRESHOLD, window, f"Second threshold test due from {window[0].isoformat()}: {said}."
        )
    if stands is not None and stands.status == REFERRED:
        return stands
    if verdict.ruling is Ruling.INCOMPLETE:
        if stands is not None and stands.status == PASSED:
            return stands
        return Disposition(THRESHOLD, None, f"Threshold test incomplete: {said} still to be tested.")
    newest = max(outcome.day for outcome in thresholds)
    if any(not result.passed and result.day > newest for result in screenings) and stands is not None:
        return stands
    return _passed(f"The threshold test meets no line of {protocol.title}.")
