"""Who is due for screening, who is exempt, and for how long an exemption's paper stands.

Only the questions asked before a child is tested may live here; what follows a result is ``followup``'s.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date

from shared.hearing.protocol import Protocol
from shared.hearing.protocol_parts import Exemption, plain_grade

#: What else than its grade can make a child due, in words. A protocol names those that its source has.
DUE_REASONS = {
    "grade": "grade due",
    "new": "new to the school, no record",
    "concern": "a parent's or teacher's concern",
    "absent-last-time": "absent at the last screening",
    "special-education": "special education",
    "special-ungraded": "special ungraded class",
    "repeat-grade": "repeats the grade",
    "exemption-over": "the report or refusal on file has run out",
}

#: The reasons for which a roster may say that a child is exempt.
EXEMPTIONS = ("under-care", "declined")


def why_due(protocol: Protocol, grade: str, reasons: Collection[str] = ()) -> tuple[str, ...]:
    """The reasons (keys of ``DUE_REASONS``) for which a child is due, its grade first; empty: not due.

    A protocol that names no grades makes every grade due: its source leaves the choice to the visit. A reason
    that a person noted always counts, named by the protocol or not: who was asked for is not dropped.
    """
    due = not protocol.grades_due or plain_grade(grade) in protocol.grades_due
    noted = tuple(reason for reason in DUE_REASONS if reason in reasons and reason != "grade")
    return (("grade",) if due else ()) + noted


def exemption(protocol: Protocol, reason: str) -> Exemption | None:
    """The protocol's words on a reason ("declined", "under-care", ...), or None where it has none."""
    return next((each for each in protocol.exemptions if each.reason == reason), None)


def exemption_ends(rule: Exemption, given_on: date) -> date | None:
    """The last day on which what is kept on file stands, or None where the rule sets no end."""
    return None if rule.months is None else months_later(given_on, rule.months)


def exemption_stands(rule: Exemption, given_on: date, today: date) -> bool:
    """Whether a report or refusal of that day still exempts the child today."""
    ends = exemption_ends(rule, given_on)
    return given_on <= today and (ends is None or today <= ends)


def exempt_for(protocol: Protocol, on_file: Collection[str], day: date) -> str:
    """The reason that exempts a child on that day by what is on file, or an empty text.

    ``on_file`` are a reason and the day of its paper each, as in "under-care 2026-03-01"; without a day it stands only
    where the rule sets no end. A refusal goes before care: without consent nobody is screened.
    """
    standing = [reason for reason, given_on in _papers(on_file) if _stands(protocol, reason, given_on, day)]
    return max(standing, key=EXEMPTIONS.index, default="")


def exemption_over(protocol: Protocol, on_file: Collection[str], day: date) -> bool:
    """Whether a child was exempt by what is on file, and no longer is: it is due again ("exemption-over")."""
    papers = list(_papers(on_file))
    return bool(papers) and not exempt_for(protocol, on_file, day)


def _papers(on_file: Collection[str]) -> Iterator[tuple[str, date | None]]:
    for text in on_file:
        reason, _, given_on = text.partition(" ")
        if reason in EXEMPTIONS:
            try:
                yield reason, date.fromisoformat(given_on) if given_on else None
            except ValueError:
                yield reason, None


def _stands(protocol: Protocol, reason: str, given_on: date | None, day: date) -> bool:
    rule = exemption(protocol, reason) or Exemption(reason, "")
    return rule.months is None if given_on is None else exemption_stands(rule, given_on, day)


def months_later(day: date, months: int) -> date:
    """The same day of the month, or the month's last where it is shorter."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    for last in (day.day, 30, 29, 28):
        try:
            return date(year, month + 1, last)
        except ValueError:
            continue
    raise AssertionError("every month has a 28th")
