"""The FHIR R4 export: one Bundle of the visit's children, their outcomes, thresholds and referrals.

What each resource holds is described in ``FORMATS.md`` beside this file. Ids are derived from the visit's number
and the record (UUID version 5), so a second export gives the same ids. A screening's outcome has no published
code: it is local.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

from fieldapp.exports import loinc
from fieldapp.exports.fhir_parts import Book, Reference, Resource, absent, coded, filled, local, practitioner
from fieldapp.exports.fhir_visit import consent, encounters, letters
from fieldapp.papers.context import PaperContext
from fieldapp.platform.files import write_whole
from shared.hearing.examination import CONDUCTIONS, Reading
from shared.hearing.followup import unreliable_words
from shared.records.standing import ExaminationNoted, Screening, Standing, Status, ThresholdTest

_EXAM = coded("observation-category", "exam", "Exam")
# Why a child has no outcome: a code of the published set, and words.
_NOT_TESTED = {
    Status.NOT_SEEN: ("not-performed", "not yet seen"),
    Status.ABSENT: ("not-performed", "absent"),
    Status.DECLINED: ("asked-declined", "declined by guardian"),
    Status.UNDER_CARE: ("not-performed", "under care for hearing already"),
    Status.COULD_NOT_TEST: ("not-performed", "could not test"),
    Status.EAR_PROBLEM: ("not-performed", "visible ear problem, not tested"),
}
_OUTCOMES = {
    Status.PASSED: "pass",
    Status.RESCREEN: "rescreen",
    Status.THRESHOLD: "threshold test due",
    Status.REFERRED: "refer",
    Status.CLOSED: "closed",
}
CAUTION = "A screening is not a diagnosis. Levels are hearing levels, dB HL, by air conduction."
EXAMINED = (
    "Thresholds of an examiner outside the school, copied from the reply by the school's office and handed on without "
    "interpretation. Levels are hearing levels, dB HL."
)


def bundle(standings: Sequence[Standing], context: PaperContext) -> Resource:
    """The whole visit as a FHIR R4 Bundle of type "collection"."""
    book = Book(context)
    school = book.add("school", {"resourceType": "Organization", "name": context.school or "School"})
    for standing in standings:
        _child(book, standing, school)
    made: Resource = {"resourceType": "Bundle", "type": "collection"}
    made["timestamp"] = f"{context.issued.isoformat()}T00:00:00Z"
    return {**made, "entry": book.entries}


def export_fhir(folder: Path, standings: Sequence[Standing], context: PaperContext) -> list[Path]:
    """Write ``bundle.json``; raises ``WriteRefused``."""
    file = folder / "bundle.json"
    write_whole(file, json.dumps(bundle(standings, context), ensure_ascii=False, indent=1).encode())
    return [file]


def _child(book: Book, standing: Standing, school: Reference) -> None:
    patient = book.add(standing.child, _patient(standing, school))
    visited = encounters(book, standing, patient, school)
    screenings = [
        book.add(each.id, {**_screening(book, each, patient), "encounter": visited[each.begun_at[:10]]})
        for each in standing.screenings
        if not each.stopped
    ]
    tests = [
        book.add(each.id, {**_thresholds(book, each, patient), "encounter": visited[each.begun_at[:10]]})
        for each in standing.thresholds
    ]
    for noted in standing.examinations:
        for conduction in CONDUCTIONS:
            if readings := [each for each in noted.examination.readings if each.conduction == conduction]:
                found = _examination(book, noted, readings, patient)
                book.add(f"{noted.id}:{conduction}", found)
    outcome = book.add(f"{standing.child}:standing", _standing(standing, patient, [*screenings, *tests]))
    if standing.status is Status.REFERRED or any(each.step == "sent" for each in standing.followups):
        book.add(standing.child, _referral(standing, patient, outcome))
    letters(book, standing, patient, school, outcome)
    if standing.status is Status.DECLINED:
        consent(book, standing, patient, school)


def _patient(standing: Standing, school: Reference) -> Resource:
    person = standing.person
    name = filled(
        use="official",
        text=" ".join(filter(None, (person.given, person.family))),
        family=person.family,
        given=[person.given] if person.given else [],
    )
    return filled(
        resourceType="Patient",
        identifier=[{"system": "urn:quietbell:student-number", "value": person.student_number}]
        if person.student_number
        else [],
        name=[name] if len(name) > 1 else [],
        birthDate=person.born,
        address=[{"use": "home", "text": "\n".join(person.address), "line": list(person.address)}]
        if person.address
        else [],
        contact=[{"name": {"text": person.guardian}}] if person.guardian else [],
        communication=[
            {
                "language": {"coding": [{"system": "urn:ietf:bcp:47", "code": person.language}]},
                "preferred": True,
            }
        ]
        if person.language
        else [],
        managingOrganization=school,
    )


def _performed(book: Book, author: str, device: str) -> Resource:
    """Who did it, on which device."""
    tablet = {
        "resourceType": "Device",
        "deviceName": [{"name": book.context.tablet(device), "type": "user-friendly-name"}],
    }
    return filled(performer=practitioner(book, author), device=book.add(device, tablet) if device else None)


def _screening(book: Book, each: Screening, patient: Reference) -> Resource:
    deciding = max((answer.walk for answer in each.answers), default=1)
    done = each.passed is not None
    return filled(
        resourceType="Observation",
        status="final" if done else "preliminary",
        category=[_EXAM],
        code=local("hearing-screening", "Pure-tone hearing screening, one session"),
        subject=patient,
        effectivePeriod=filled(start=each.begun_at, end=each.finished_at),
        **_performed(book, each.author, each.device),
        valueCodeableConcept=local("pass" if each.passed else "no-pass", "pass" if each.passed else "no pass")
        if done
        else None,
        dataAbsentReason=None if done else absent("not-performed", "not finished"),
        note=[{"text": CAUTION}],
        component=[
            {
                "code": local(
                    f"tone-{answer.ear}-{answer.hz}",
                    f"Response to {answer.hz} Hz at {answer.level_db_hl} dB HL, {answer.ear} ear",
                ),
                "valueBoolean": answer.heard,
            }
            for answer in each.answers
            if answer.walk == deciding
        ],
    )


def _thresholds(book: Book, test: ThresholdTest, patient: Reference) -> Resource:
    found = {(each.ear, each.hz): each for each in test.readings}
    wanted = [(ear, hz) for ear in ("right", "left") for hz in book.context.protocol.threshold_frequencies]
    tones = sorted({*found, *wanted}, key=lambda tone: (tone[0] == "left", tone[1]))
    return filled(
        resourceType="Observation",
        status="final" if test.finished_at else "preliminary",
        category=[_EXAM],
        code=_panel("Air-conduction thresholds found at school"),
        subject=patient,
        effectivePeriod=filled(start=test.begun_at, end=test.finished_at),
        **_performed(book, test.author, test.device),
        note=[{"text": text} for text in (CAUTION, unreliable_words(test.disagreed)) if text],
        component=[_threshold(ear, hz, found.get((ear, hz))) for ear, hz in tones],
    )


def _panel(text: str) -> Resource:
    """The code of a whole set of air-conduction thresholds."""
    coding = {"system": loinc.SYSTEM, "code": loinc.PANEL, "display": loinc.PANEL_NAME}
    return {"coding": [coding], "text": text}


def _threshold(ear: str, hz: int, found: Reading | None) -> Resource:
    """One ear and frequency by air conduction, tested or not."""
    code = loinc.THRESHOLDS.get((ear, hz))
    masked = ", masked" if found and found.masked else ""
    named = filled(
        coding=[{"system": loinc.SYSTEM, "code": code}] if code else [],
        text=f"Hearing threshold, air conduction, {ear} ear, {hz} Hz, dB HL{masked}",
    )
    if found is None:
        return {"code": named, "dataAbsentReason": absent("not-performed", "not tested")}
    return {"code": named, "valueQuantity": _level(found)}


def _level(found: Reading) -> Resource:
    return filled(
        value=found.level_db_hl,
        comparator=">" if found.no_response else None,
        unit="dB",
        system="http://unitsofmeasure.org",
        code="dB",
    )


def _examination(
    book: Book, noted: ExaminationNoted, readings: Sequence[Reading], patient: Reference
) -> Resource:
    """What an examiner found by one conduction; bone conduction has no published codes, so its codes are local."""
    found = noted.examination
    who = {"resourceType": "Practitioner", "name": [{"text": found.examiner}]}
    by_air = readings[0].conduction == "air"
    told = (EXAMINED, f"{found.earphones} earphones" if found.earphones and by_air else "")
    return filled(
        resourceType="Observation",
        status="final",
        category=[_EXAM],
        code=_panel("Air-conduction thresholds found by an examiner")
        if by_air
        else local("bone-conduction-thresholds", "Bone-conduction thresholds found by an examiner"),
        subject=patient,
        effectiveDateTime=found.examined.isoformat(),
        performer=[book.add(f"examiner:{found.examiner}", who)] if found.examiner else [],
        note=[{"text": text} for text in told if text],
        component=[_threshold(each.ear, each.hz, each) if by_air else _bone(each) for each in readings],
    )


def _bone(found: Reading) -> Resource:
    masked = ", masked" if found.masked else ""
    named = local(
        f"threshold-bone-{found.ear}-{found.hz}",
        f"Hearing threshold, bone conduction, {found.ear} ear, {found.hz} Hz, dB HL{masked}",
    )
    return {"code": named, "valueQuantity": _level(found)}


def _standing(standing: Standing, patient: Reference, derived: list[Reference]) -> Resource:
    reason = _NOT_TESTED.get(standing.status)
    outcome = _OUTCOMES.get(standing.status, "")
    note = [CAUTION, *filter(None, (standing.why, standing.note))]
    return filled(
        resourceType="Observation",
        status="final" if standing.status is not Status.NOT_SEEN else "registered",
        category=[_EXAM],
        code=local("hearing-screening-outcome", "Where the child stands after the hearing screening"),
        subject=patient,
        effectiveDateTime=standing.since,
        valueCodeableConcept=None if reason else local(standing.status.value, outcome),
        dataAbsentReason=absent(*reason) if reason else None,
        note=[{"text": text} for text in note],
        derivedFrom=derived,
    )


def _referral(standing: Standing, patient: Reference, outcome: Reference) -> Resource:
    closed = standing.status is Status.CLOSED
    return filled(
        resourceType="ServiceRequest",
        status="completed" if closed else "active",
        intent="order",
        code={"text": "Examination of hearing by a licensed professional"},
        subject=patient,
        authoredOn=standing.since,
        reasonReference=[outcome],
        note=[{"text": f"{each.day} {each.step} {each.note}".strip()} for each in standing.followups],
    )
