"""The FHIR export against a reference library's R4 model, and its codes against the published value sets."""

from __future__ import annotations

import json
from dataclasses import replace

from fhir.resources.R4B.bundle import Bundle

from fieldapp.exports import export_fhir
from fieldapp.exports.fhir import bundle
from fieldapp.exports.loinc import PANEL, THRESHOLDS
from fieldapp.papers import make_papers
from shared.records.standing import Followup, Status

# HL7 PACIO value sets of pure-tone air-conduction thresholds, read: Hz, left, right.
PUBLISHED = """
250 91375-6 91374-9
500 89024-4 89025-1
750 91379-8 91378-0
1000 89016-0 89017-8
1500 91373-1 91372-3
2000 89018-6 89019-4
3000 89020-2 89021-0
4000 89022-8 89023-6
5000 91377-2 91376-4
6000 89026-9 89027-7
8000 89028-5 89029-3
"""


def resources(made, kind):
    """The resources of one kind in a bundle."""
    return (entry["resource"] for entry in made["entry"] if entry["resource"]["resourceType"] == kind)


def check_digit(code: str) -> int:
    """The Mod 10 check digit of a LOINC code (LOINC Users' Guide, appendix; from memory)."""
    digits = code.partition("-")[0][::-1]
    odd = str(int("".join(digits[0::2])[::-1]) * 2)
    total = sum(map(int, digits[1::2] + odd))
    return -total % 10


def test_every_loinc_code_is_the_published_one() -> None:
    rows = [line.split() for line in PUBLISHED.split("\n") if line]
    expected = {
        (ear, int(hz)): code
        for hz, *codes in rows
        for ear, code in zip(("left", "right"), codes, strict=True)
    }
    assert expected == THRESHOLDS
    assert PANEL == "89015-2"
    for code in (*THRESHOLDS.values(), PANEL):
        assert check_digit(code) == int(code[-1])


def test_the_bundle_is_valid_fhir(school, visit, out) -> None:
    (file,) = export_fhir(out, school, visit)
    parsed = Bundle.model_validate_json(file.read_bytes())
    assert sum(entry.resource.__resource_type__ == "Patient" for entry in parsed.entry) == len(school)
    urls = {entry.fullUrl for entry in parsed.entry}
    assert len(urls) == len(parsed.entry)
    references = set(_references(json.loads(file.read_bytes())))
    assert references
    assert references <= urls


def _references(data: object):
    if isinstance(data, dict):
        yield from ([data["reference"]] if isinstance(data.get("reference"), str) else [])
        for value in data.values():
            yield from _references(value)
    elif isinstance(data, list):
        for value in data:
            yield from _references(value)


def test_the_same_visit_is_exported_the_same(school, visit) -> None:
    assert bundle(school, visit) == bundle(school, visit)


def test_not_tested_is_said_and_no_response_is_beyond_the_limit(school, visit) -> None:
    made = bundle(school, visit)
    panels = [
        o
        for o in resources(made, "Observation")
        if o["code"].get("coding", [{}])[0]["code"] == PANEL and "school" in o["code"]["text"]
    ]
    assert len(panels) == sum(child.status is Status.REFERRED for child in school)
    by_code = {c["code"]["coding"][0]["code"]: c for c in panels[0]["component"]}
    right_1000, left_4000 = by_code["89017-8"]["valueQuantity"], by_code["89022-8"]["valueQuantity"]
    assert right_1000 == {"value": 30, "unit": "dB", "system": "http://unitsofmeasure.org", "code": "dB"}
    assert (left_4000["comparator"], left_4000["value"]) == (">", 100)
    outcomes = [
        o
        for o in resources(made, "Observation")
        if o["code"].get("coding", [{}])[0]["code"] == "hearing-screening-outcome"
    ]
    without = sum("dataAbsentReason" in outcome for outcome in outcomes)
    untested = (Status.NOT_SEEN, Status.ABSENT, Status.DECLINED, Status.UNDER_CARE)
    untested += (Status.COULD_NOT_TEST, Status.EAR_PROBLEM)
    assert without == sum(child.status in untested for child in school)
    assert all(("valueCodeableConcept" in o) != ("dataAbsentReason" in o) for o in outcomes)


def test_a_threshold_not_taken_is_said_to_be_missing(school, visit) -> None:
    referred = next(child for child in school if child.status is Status.REFERRED)
    (test,) = referred.thresholds
    shorter = replace(test, thresholds=tuple(t for t in test.thresholds if t.hz != 500))
    made = bundle([replace(referred, thresholds=(shorter,))], visit)
    Bundle.model_validate(made)
    panel = next(
        o for o in resources(made, "Observation") if o["code"].get("coding", [{}])[0]["code"] == PANEL
    )
    missing = [c for c in panel["component"] if "dataAbsentReason" in c]
    assert {c["code"]["coding"][0]["code"] for c in missing} == {"89025-1", "89024-4"}


def test_an_examiners_audiogram_is_handed_on_with_its_examiner_and_its_codes(school, visit) -> None:
    """Air by the published codes; none were found for bone, so they are local."""
    referred = next(child for child in school if child.status is Status.REFERRED)
    made = bundle([referred], visit)
    Bundle.model_validate(made)
    found = [o for o in resources(made, "Observation") if "found by an examiner" in o["code"]["text"]]
    assert [o["effectiveDateTime"] for o in found] == ["2026-11-09", "2026-11-09"]
    air, bone = found
    assert air["code"]["coding"][0]["code"] == PANEL
    by_code = {c["code"]["coding"][0]["code"]: c for c in air["component"]}
    assert by_code["89017-8"]["valueQuantity"]["value"] == 40  # right, 1000 Hz
    assert by_code["89016-0"]["code"]["text"].endswith("left ear, 1000 Hz, dB HL, masked")
    assert (
        by_code["89022-8"]["valueQuantity"]["comparator"],
        by_code["89022-8"]["valueQuantity"]["value"],
    ) == (">", 110)
    assert len(air["component"]) == 10  # what the examiner did not test is not said to be missing
    by_code = {c["code"]["coding"][0]["code"]: c for c in bone["component"]}
    assert by_code["threshold-bone-right-500"]["valueQuantity"]["value"] == 10
    assert by_code["threshold-bone-left-1000"]["valueQuantity"]["comparator"] == ">"
    examiners = {p["name"][0]["text"] for p in resources(made, "Practitioner")}
    assert "R. Oduya, audiologist, Pine Hollow hearing clinic" in examiners
    assert air["performer"] == bone["performer"]


def of_child(made, kind: str, child) -> list[dict]:
    """The resources of a kind whose subject (or patient) is this child."""
    names = {entry["fullUrl"]: entry["resource"] for entry in made["entry"]}
    number = child.person.student_number
    return [
        each
        for each in resources(made, kind)
        if names[(each.get("subject") or each.get("patient"))["reference"]]["identifier"][0]["value"]
        == number
    ]


def test_every_session_lies_in_the_visit_of_its_day(school, visit) -> None:
    made = bundle(school, visit)
    Bundle.model_validate(made)
    found = {entry["fullUrl"]: entry["resource"] for entry in made["entry"]}
    for each in resources(made, "Observation"):
        if "effectivePeriod" in each:
            encounter = found[each["encounter"]["reference"]]
            assert encounter["resourceType"] == "Encounter" and encounter["subject"] == each["subject"]
            assert encounter["period"]["start"] <= each["effectivePeriod"]["start"]
            assert each["effectivePeriod"]["end"] <= encounter["period"]["end"]
            assert encounter["participant"][0]["individual"] in each["performer"]
    referred = next(child for child in school if child.status is Status.REFERRED)
    days = {each.begun_at[:10] for each in (*referred.screenings, *referred.thresholds)}
    assert len(of_child(made, "Encounter", referred)) == len(days) == 3
    for status, count in ((Status.COULD_NOT_TEST, 1), (Status.ABSENT, 0), (Status.DECLINED, 0)):
        child = next(child for child in school if child.status is status)
        assert len(of_child(made, "Encounter", child)) == count


def test_a_letter_is_a_communication_and_sent_only_where_that_was_noted(school, visit) -> None:
    child = next(child for child in school if child.status is Status.RESCREEN)
    printed = replace(child, papers=("V-1-RESCREEN", "V-1-LR-003", "V-1-LR-003"))
    (one,) = of_child(bundle([printed], visit), "Communication", printed)
    assert (one["status"], one["identifier"][0]["value"]) == ("preparation", "V-1-LR-003")
    assert one["topic"]["coding"][0]["code"] == "letter-rescreen" and "sent" not in one
    for note, sent in (("V-1-LR", True), ("V-1-LR-003", True), ("V-1-LR-00", False), ("V-1-LF", False)):
        noted = replace(printed, followups=(Followup("sent", "2026-10-01", note, "LW"),))
        made = bundle([noted], visit)
        Bundle.model_validate(made)
        (one,) = of_child(made, "Communication", noted)
        assert (one["status"], one.get("sent")) == (
            ("completed", "2026-10-01") if sent else ("preparation", None)
        )
    (guardian,) = of_child(made, "RelatedPerson", noted)
    assert guardian["name"][0]["text"] == child.person.guardian
    assert one["recipient"] == [{"reference": f"urn:uuid:{guardian['id']}"}]


def test_the_codes_of_letters_are_those_in_their_numbers(school, visit, out) -> None:
    for name in ("letters-rescreen", "letters-could-not-test", "letters-referral", "letters-passed"):
        made = make_papers(out, school, visit, [name])[name]
        child = next(each for each in school if each.child in made.numbers)
        printed = replace(child, papers=(made.numbers[child.child],))
        (one,) = of_child(bundle([printed], visit), "Communication", printed)
        assert one["topic"]["coding"][0]["code"] == name.replace("letters", "letter")


def test_a_declined_screening_is_a_refused_consent(school, visit) -> None:
    made = bundle(school, visit)
    declined = [child for child in school if child.status is Status.DECLINED]
    consents = list(resources(made, "Consent"))
    assert len(consents) == len(declined) > 0
    for child in declined:
        (one,) = of_child(made, "Consent", child)
        # R4, invariant ppc-1: either a policy or a policy rule
        assert one["status"] == "rejected" and one["provision"] == {"type": "deny"} and one["policyRule"]
        assert one["dateTime"] == child.since


def test_a_threshold_test_that_is_not_reliable_says_so(school, visit) -> None:
    referred = next(child for child in school if child.status is Status.REFERRED)
    (test,) = referred.thresholds
    made = bundle([replace(referred, thresholds=(replace(test, disagreed=(("right", 1000),)),))], visit)
    Bundle.model_validate(made)
    notes = [note["text"] for each in resources(made, "Observation") for note in each.get("note", ())]
    assert any(text.startswith("Not reliable: the tries at right 1000 Hz") for text in notes)
