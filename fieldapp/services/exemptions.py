"""Children whom the roster exempts: noted as not tested while their paper stands, due again once its time is over.

Only what the book writes of its own accord about exemptions may live here; how long a paper stands is
``shared.hearing.due``'s.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from fieldapp.services.ledger import Draft
from shared.hearing.due import exempt_for, exemption_over, why_due
from shared.hearing.protocol import Protocol
from shared.records.entries import Entry, Kind
from shared.records.register import Register
from shared.records.standing import Person, Standing, Status

#: The mark of an entry that the book wrote because the roster says so.
FROM_ROSTER = "roster"


def due_for(protocol: Protocol, person: Person, day: date) -> tuple[str, ...]:
    """The reasons for which a child is due on a day: its grade, what the roster notes, an exemption that is over."""
    over = ("exemption-over",) if exemption_over(protocol, person.exemptions, day) else ()
    return why_due(protocol, person.grade, (*person.due_reasons, *over))


def exemption_drafts(register: Register, day: date) -> list[Draft]:
    """What has to be written so that just those children are exempt whose paper stands on ``day``.

    A child that was seen, or noted by a person, keeps what was found.
    """
    drafts: list[Draft] = []
    for standing in register.standings():
        noted = _noted(register, standing)
        reason = exempt_for(register.protocol, standing.person.exemptions, day)
        paper = _paper(standing.person.exemptions, reason)
        fits = [each for each in noted if (each.body["reason"], each.body.get("note")) == (reason, paper)]
        drafts += [
            (Kind.DECISION_WITHDRAWN, {"decision": each.id, "child": each.child})
            for each in noted
            if each not in fits
        ]
        alone = standing.status is Status.NOT_SEEN or len(noted) == len(_not_tested(register, standing))
        if reason and not fits and alone and not standing.screenings and not standing.person.left:
            body = {"child": standing.child, "reason": reason, "note": paper, FROM_ROSTER: True}
            drafts.append((Kind.NOT_TESTED, body))
    return drafts


def exempt(standings: Iterable[Standing], protocol: Protocol, day: date) -> tuple[int, int]:
    """How many children are exempt by the roster on a day, and how many are due again because it is over."""
    papers = [each.person.exemptions for each in standings if not each.person.left]
    return (
        sum(bool(exempt_for(protocol, on_file, day)) for on_file in papers),
        sum(exemption_over(protocol, on_file, day) for on_file in papers),
    )


def _not_tested(register: Register, standing: Standing) -> list[Entry]:
    about = register.about(standing.child)
    return [each for each in about if each.kind is Kind.NOT_TESTED and register.stands(each.id)]


def _noted(register: Register, standing: Standing) -> list[Entry]:
    """The entries that an earlier call had written, as far as they stand."""
    return [each for each in _not_tested(register, standing) if each.body.get(FROM_ROSTER)]


def _paper(exemptions: Iterable[str], reason: str) -> str:
    """The day of the paper, as the note of the entry."""
    days = [text.partition(" ")[2] for text in exemptions if text.partition(" ")[0] == reason]
    return max(days, default="")
