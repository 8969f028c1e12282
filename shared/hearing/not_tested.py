"""What follows where a child was not tested: could not test, and the ear problems seen before the earphones.

Only the follow-up of children without a result may live here. It never says what a child has.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from shared.hearing.followup import Disposition, Window
from shared.hearing.protocol import Protocol
from shared.hearing.protocol_parts import CouldNotTestRule


@dataclass(frozen=True, slots=True)
class EarSign:
    """Something seen or said before the earphones go on. ``stops``: no earphones, medical list at once."""

    key: str
    words: str
    stops: bool
    source: str


_WEB_COURSE = "Minnesota Department of Health, web course (read)"
EAR_SIGNS: tuple[EarSign, ...] = (
    EarSign("drainage", "drainage from the ear", True, _WEB_COURSE),
    EarSign("tenderness", "ear tender to the touch", True, _WEB_COURSE),
    EarSign("odour", "foul odour", True, _WEB_COURSE),
    EarSign("pain", "pain in the ear", True, "ASHA 1997 (from memory)"),
    EarSign("foreign-body", "something in the ear canal", True, "ASHA 1997 (from memory)"),
    EarSign("blocked", "ear canal blocked", True, "ASHA 1997 (from memory)"),
    EarSign("worn", "something worn at the ear, taken off", False, "common practice, no source: noted"),
    EarSign("structure", "outer ear formed unusually", False, "Colorado slide set (second-hand): noted"),
)


def earphones_allowed(signs: Collection[str]) -> bool:
    """Whether earphones may go on: not with any sign that stops. An unknown sign stops too, to be safe."""
    harmless = {sign.key for sign in EAR_SIGNS if not sign.stops}
    return set(signs) <= harmless


def ear_problem(signs: Collection[str]) -> Disposition:
    """Straight to the medical list: a visible ear problem is not tested and is nobody's rescreen."""
    words = {sign.key: sign.words for sign in EAR_SIGNS}
    seen = ", ".join(words.get(sign, sign) for sign in signs) or "a visible ear problem"
    return Disposition("ear-problem", None, f"Not tested: {seen}. To medical care before any test.")


def could_not_test(protocol: Protocol, day: date, age: int | None = None) -> Disposition:
    """What a child who could not be tested on ``day`` is owed; kept apart from a failed screening.

    ``age`` in whole years; without it the rule with the shortest time is taken, to be safe.
    """
    rule = _rule(protocol, age)
    window = _window(rule, day)
    mark = protocol.mark_of("could_not_test")
    local = " (set locally)" if mark == "set locally" else ""
    return Disposition("could-not-test", window, f"Could not test. {rule.action}{local}")


def age_on(born: date, day: date) -> int:
    """Whole years of age on a day; someone born on 29 February has birthday on 1 March in other years."""
    return day.year - born.year - ((day.month, day.day) < (born.month, born.day))


_DEFAULT = CouldNotTestRule(30, "Try again within 30 days; if that fails too, refer.")


def _rule(protocol: Protocol, age: int | None) -> CouldNotTestRule:
    rules = protocol.could_not_test or (_DEFAULT,)
    if age is None:
        return min(rules, key=lambda rule: rule.within_days)
    fitting = [rule for rule in rules if rule.min_age <= age]
    return max(fitting or rules, key=lambda rule: rule.min_age if fitting else -rule.min_age)


def _window(rule: CouldNotTestRule, day: date) -> Window:
    if rule.school_days:
        return (day, weekdays_later(day, rule.within_days))
    return (day, day + timedelta(days=rule.within_days))


def weekdays_later(day: date, days: int) -> date:
    """The day so many Mondays to Fridays later; holidays are not known here."""
    while days:
        day += timedelta(days=1)
        days -= day.weekday() < 5
    return day
