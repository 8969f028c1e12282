"""What a receiving system expects around the results: the visit, the letters that went home, a refused consent.

The codes of HL7's own systems are from memory.
"""

from __future__ import annotations

import re

from fieldapp.exports.fhir_parts import Book, Reference, coded, filled, local, practitioner
from shared.records.standing import Screening, Standing, Status, ThresholdTest

#: The letters about one child, by the code in their number: a local code, and words.
LETTERS = {
    "LR": ("letter-rescreen", "Letter home: the screening will be repeated"),
    "LC": ("letter-could-not-test", "Letter home: the child could not be tested"),
    "LF": ("letter-referral", "Letter home: please have hearing tested"),
    "LP": ("letter-passed", "Letter home: every tone was answered"),
    "RX": ("referral-to-examiner", "Referral to the examiner"),
}
_NUMBER = re.compile(rf"-({'|'.join(LETTERS)})-\d+$")
_TRIED = (Status.COULD_NOT_TEST, Status.EAR_PROBLEM)  # somebody was with the child, though there is no result


def encounters(book: Book, standing: Standing, patient: Reference, school: Reference) -> dict[str, Reference]:
    """The child's days at the station: day -> its Encounter."""
    days: dict[str, list[tuple[str, str, str]]] = {}  # day -> (begun, ended, by whom)
    tests: list[Screening | ThresholdTest] = [*standing.screenings, *standing.thresholds]
    for each in tests:
        days.setdefault(each.begun_at[:10], []).append((each.begun_at, each.finished_at, each.author))
    if standing.status in _TRIED and standing.since:
        days.setdefault(standing.since[:10], []).append((standing.since, standing.since, ""))
    found: dict[str, Reference] = {}
    for day, sessions in days.items():
        people = dict.fromkeys(author for _begun, _ended, author in sessions)
        ended = [end for _begun, end, _author in sessions if end]
        resource = filled(
            resourceType="Encounter",
            status="finished",
            type=[local("school-hearing-screening", "Hearing screening at school")],
            subject=patient,
            participant=[{"individual": who} for author in people for who in practitioner(book, author)],
            period=filled(
                start=min(begun for begun, _ended, _author in sessions), end=max(ended, default="")
            ),
            serviceProvider=school,
        )
        resource["class"] = coded("v3-ActCode", "FLD", "field")["coding"][0]  # outside a clinic
        found[day] = book.add(f"{standing.child}:{day}", resource)
    return found


def letters(
    book: Book, standing: Standing, patient: Reference, school: Reference, outcome: Reference
) -> None:
    """A Communication for every letter about the child: made, and sent where the office has noted it."""
    guardian = _guardian(book, standing, patient)
    for number in standing.papers:
        code = _NUMBER.search(number)
        if code is None:
            continue  # a list
        kind, words = LETTERS[code[1]]
        sent = _sent(standing, number)
        resource = filled(
            resourceType="Communication",
            identifier=[{"system": "urn:quietbell:document-number", "value": number}],
            status="completed" if sent else "preparation",
            category=[coded("communication-category", "notification", "Notification")],
            medium=[coded("v3-ParticipationMode", "WRITTEN", "written")],
            subject=patient,
            topic=local(kind, words),
            about=[outcome],
            sent=sent,
            sender=school,
            recipient=[] if code[1] == "RX" else [guardian or patient],
        )
        book.add(f"{standing.child}:{number}", resource)


def _sent(standing: Standing, number: str) -> str:
    """The day on which the office noted that this letter was sent; its note is the letter's number or its set's."""
    return next(
        (
            each.day
            for each in standing.followups
            if each.step == "sent"
            and each.note
            and (number == each.note or number.startswith(f"{each.note}-"))
        ),
        "",
    )


def _guardian(book: Book, standing: Standing, patient: Reference) -> Reference | None:
    if not standing.person.guardian:
        return None
    resource = filled(
        resourceType="RelatedPerson",
        patient=patient,
        relationship=[coded("v3-RoleCode", "GUARD", "guardian")],
        name=[{"text": standing.person.guardian}],
    )
    return book.add(standing.child, resource)


def consent(book: Book, standing: Standing, patient: Reference, school: Reference) -> None:
    """That a guardian declined the screening: a Consent that denies it."""
    guardian = _guardian(book, standing, patient)
    resource = filled(
        resourceType="Consent",
        status="rejected",
        scope=coded("consentscope", "treatment", "Treatment"),
        category=[local("hearing-screening-consent", "Consent of a guardian to the hearing screening")],
        patient=patient,
        dateTime=standing.since,
        performer=[guardian] if guardian else [],
        organization=[school],
        policyRule={"text": "The school's own rule on declining a screening"},
        provision={"type": "deny"},
    )
    book.add(standing.child, resource)
