"""The FHIR R4 export: one Bundle of the visit's children, their outcomes, thresholds and referrals.

What each resource holds is described in ``FORMATS.md`` beside this file. Ids are derived from the visit's number
and the record (UUID version 5), so a second export gives the same ids. A screening's outcome has no published
code: it is local.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from fieldapp.exports import loinc
from fieldapp.papers.context import PaperContext
from fieldapp.platform.files import write_whole
from shared.hearing.examination import CONDUCTIONS, Reading
from shared.records.standing import ExaminationNoted, Screening, Standing, Status, ThresholdTest

LOCAL = "urn:quietbell:codes"
_ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
_EXAM = {
    "coding": [
        {
            "system": "http://terminology.hl7.org/CodeSystem/observation-category",
            "code": "exam",
            "display": "Exam",
        }
    ]
}
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

Resource = dict[str, Any]


class _Book:
    """Gives resources their ids and collects them as entries."""

    def __init__(self, context: PaperContext) -> None:
        self.context = context
        self.entries: list[dict[str, Any]] = []
        self._known: set[str] = set()

    def url(self, kind: str, key: str) -> str:
        """The ``fullUrl`` of a resource."""
        return f"urn:uuid:{uuid5(NAMESPACE_URL, f'quietbell:{self.context.number}:{kind}:{key}')}"

    def add(self, key: str, resource: Resource) -> dict[str, str]:
        """Put a resource into the bundle (once) and return a reference to it."""
        url = self.url(resource["resourceType"], key)
        if url not in self._known:
            self._known.add(url)
            self.entries.append(
                {"fullUrl": url, "resource": {"id": url.removeprefix("urn:uuid:"), **resource}}
            )
        return {"reference": url}


def bundle(standings: Sequence[Standing], context: PaperContext) -> Resource:
    """The whole visit as a FHIR R4 Bundle of type "collection"."""
    book = _Book(context)
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


def _child(book: _Book, standing: Standing, school: dict[str, str]) -> None:
    patient = book.add(standing.child, _patient(standing, school))
    screenings = [
        book.add(each.id, _screening(book, each, patient)) for each in standing.screenings if not each.stopped
    ]
    tests = [book.add(each.id, _thresholds(book, each, patient)) for each in standing.thresholds]
    for noted in standing.examinations:
        for conduction in CONDUCTIONS:
            if readings := [each for each in noted.examination.readings if each.conduction == conduction]:
                found = _examination(book, noted, readings, patient)
                book.add(f"{noted.id}:{conduction}", found)
    outcome = book.add(f"{standing.child}:standing", _standing(standing, patient, [*screenings, *tests]))
    if standing.status is Status.REFERRED or any(each.step == "sent" for each in standing.followups):
        book.add(standing.child, _referral(standing, patient, outcome))


def _patient(standing: Standing, school: dict[str, str]) -> Resource:
    person = standing.person
    name = _filled(
        use="official",
        text=" ".join(filter(None, (person.given, person.family))),
        family=person.family,
        given=[person.given] if person.given else [],
    )
    return _filled(
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


def _performed(book: _Book, author: str, device: str) -> Resource:
    """Who did it, on which device."""
    who = {"resourceType": "Practitioner", "name": [{"text": author}]}
    tablet = {
        "resourceType": "Device",
        "deviceName": [{"name": book.context.tablet(device), "type": "user-friendly-name"}],
    }
    performer = [book.add(author, who)] if author else []
    return _filled(performer=performer, device=book.add(device, tablet) if device else None)


def _screening(book: _Book, each: Screening, patient: dict[str, str]) -> Resource:
    deciding = max((answer.walk for answer in each.answers), default=1)
    done = each.passed is not None
    return _filled(
        resourceType="Observation",
        status="final" if done else "preliminary",
        category=[_EXAM],
        code=_local("hearing-screening", "Pure-tone hearing screening, one session"),
        subject=patient,
        effectivePeriod=_filled(start=each.begun_at, end=each.finished_at),
        **_performed(book, each.author, each.device),
        valueCodeableConcept=_local(
            "pass" if each.passed else "no-pass", "pass" if each.passed else "no pass"
        )
        if done
        else None,
        dataAbsentReason=None if done else _absent("not-performed", "not finished"),
        note=[{"text": CAUTION}],
        component=[
            {
                "code": _local(
                    f"tone-{answer.ear}-{answer.hz}",
                    f"Response to {answer.hz} Hz at {answer.level_db_hl} dB HL, {answer.ear} ear",
                ),
                "valueBoolean": answer.heard,
            }
            for answer in each.answers
            if answer.walk == deciding
        ],
    )


def _thresholds(book: _Book, test: ThresholdTest, patient: dict[str, str]) -> Resource:
    found = {(each.ear, each.hz): each for each in test.readings}
    wanted = [(ear, hz) for ear in ("right", "left") for hz in book.context.protocol.threshold_frequencies]
    tones = sorted({*found, *wanted}, key=lambda tone: (tone[0] == "left", tone[1]))
    return _filled(
        resourceType="Observation",
        status="final" if test.finished_at else "preliminary",
        category=[_EXAM],
        code=_panel("Air-conduction thresholds found at school"),
        subject=patient,
        effectivePeriod=_filled(start=test.begun_at, end=test.finished_at),
        **_performed(book, test.author, test.device),
        note=[{"text": CAUTION}],
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
    named = _filled(
        coding=[{"system": loinc.SYSTEM, "code": code}] if code else [],
        text=f"Hearing threshold, air conduction, {ear} ear, {hz} Hz, dB HL{masked}",
    )
    if found is None:
        return {"code": named, "dataAbsentReason": _absent("not-performed", "not tested")}
    return {"code": named, "valueQuantity": _level(found)}


def _level(found: Reading) -> Resource:
    return _filled(
        value=found.level_db_hl,
        comparator=">" if found.no_response else None,
        unit="dB",
        system="http://unitsofmeasure.org",
        code="dB",
    )


def _examination(
    book: _Book, noted: ExaminationNoted, readings: Sequence[Reading], patient: dict[str, str]
) -> Resource:
    """What an examiner found by one conduction; bone conduction has no published codes, so its codes are local."""
    found = noted.examination
    who = {"resourceType": "Practitioner", "name": [{"text": found.examiner}]}
    by_air = readings[0].conduction == "air"
    told = (EXAMINED, f"{found.earphones} earphones" if found.earphones and by_air else "")
    return _filled(
        resourceType="Observation",
        status="final",
        category=[_EXAM],
        code=_panel("Air-conduction thresholds found by an examiner")
        if by_air
        else _local("bone-conduction-thresholds", "Bone-conduction thresholds found by an examiner"),
        subject=patient,
        effectiveDateTime=found.examined.isoformat(),
        performer=[book.add(f"examiner:{found.examiner}", who)] if found.examiner else [],
        note=[{"text": text} for text in told if text],
        component=[_threshold(each.ear, each.hz, each) if by_air else _bone(each) for each in readings],
    )


def _bone(found: Reading) -> Resource:
    masked = ", masked" if found.masked else ""
    named = _local(
        f"threshold-bone-{found.ear}-{found.hz}",
        f"Hearing threshold, bone conduction, {found.ear} ear, {found.hz} Hz, dB HL{masked}",
    )
    return {"code": named, "valueQuantity": _level(found)}


def _standing(standing: Standing, patient: dict[str, str], derived: list[dict[str, str]]) -> Resource:
    reason = _NOT_TESTED.get(standing.status)
    outcome = _OUTCOMES.get(standing.status, "")
    note = [CAUTION, *filter(None, (standing.why, standing.note))]
    return _filled(
        resourceType="Observation",
        status="final" if standing.status is not Status.NOT_SEEN else "registered",
        category=[_EXAM],
        code=_local("hearing-screening-outcome", "Where the child stands after the hearing screening"),
        subject=patient,
        effectiveDateTime=standing.since,
        valueCodeableConcept=None if reason else _local(standing.status.value, outcome),
        dataAbsentReason=_absent(*reason) if reason else None,
        note=[{"text": text} for text in note],
        derivedFrom=derived,
    )


def _referral(standing: Standing, patient: dict[str, str], outcome: dict[str, str]) -> Resource:
    closed = standing.status is Status.CLOSED
    return _filled(
        resourceType="ServiceRequest",
        status="completed" if closed else "active",
        intent="order",
        code={"text": "Examination of hearing by a licensed professional"},
        subject=patient,
        authoredOn=standing.since,
        reasonReference=[outcome],
        note=[{"text": f"{each.day} {each.step} {each.note}".strip()} for each in standing.followups],
    )


def _local(code: str, text: str) -> Resource:
    return {"coding": [{"system": LOCAL, "code": code, "display": text}], "text": text}


def _absent(code: str, text: str) -> Resource:
    return {"coding": [{"system": _ABSENT, "code": code}], "text": text}


def _filled(**fields: Any) -> Resource:
    """The fields that have a value: FHIR allows no empty ones."""
    return {name: value for name, value in fields.items() if value is not None and value not in ("", [], {})}


def resources(made: Resource, kind: str) -> Iterator[Resource]:
    """The resources of one kind in a bundle."""
    return (entry["resource"] for entry in made["entry"] if entry["resource"]["resourceType"] == kind)
