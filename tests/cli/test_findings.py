"""``quietbell findings`` as a person calls it: entered, shown, corrected, taken out, exported; refusals name the field.

Degrees by hand: (25 + 30 + 35) / 3 = 30 dB HL is mild by Clark 1981 (26 to 40, from memory); better ear's mean of four
(10 + 10 + 15 + 15) / 4 = 12.5 and the worse (25 + 30 + 35 + 50) / 4 = 35: one-sided by WHO 2021 (from memory).
"""

from __future__ import annotations

import csv
import json

import pytest

from fieldapp.cli.main import main

ROSTER = "Student ID,Last Name,First Name,DOB,Grade\nS-1,Alder,Ada,2018-03-14,3\nS-2,Birch,Ben,2018-11-02,3\n"

REPLY = {
    "examined": "2026-10-20",
    "examiner": "County clinic",
    "note": "=seat near the front",
    "right": {
        "air": {"500": 25, "1000": 30, "2000": 35, "4000": 50, "8000": {"no_response_at_db_hl": 100}},
        "bone": {"500": {"level_db_hl": 5, "masked": True}, "2000": 30},
    },
    "left": {"air": {"500": 10, "1000": 10, "2000": 15, "4000": 15}},
}


@pytest.fixture
def run(tmp_path, monkeypatch, capsys):
    """The command in a folder with a prepared book; gives what it printed, checked against its exit status."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("QUIETBELL_PASSPHRASE", "seven quiet bells ring")

    def run(*words, status=0):
        assert main([str(word) for word in words]) == status
        said = capsys.readouterr()
        return said.err if status else said.out

    (tmp_path / "roster.csv").write_text(ROSTER)
    run.path = tmp_path
    run("prepare", "v.book", "--roster", "roster.csv", "--school", "Quillmarsh", "--protocol", "aaa-2011")
    return run


def reply(run, **changes):
    (run.path / "reply.json").write_text(json.dumps({**REPLY, **changes}))
    return "reply.json"


def test_entered_shown_corrected_and_taken_out(run):
    said = run("findings", "v.book", "S-1", reply(run))
    assert "right ear by the scale of Clark 1981: mild (30.0 dB HL; row from memory)" in said
    assert "better ear by the scale of WHO 2021: unilateral (12.5 dB HL; row from memory)" in said
    assert "right ear, air minus bone: 500 Hz 20 dB" in said
    assert "8000 Hz no response at 100" in said and "500 Hz 5 masked" in said
    assert "not a diagnosis" in said
    assert "Ada" not in said
    (first,) = json.loads(run("findings", "v.book", "S-1", "--json"))["examinations"]
    assert {name: first[name] for name in REPLY} == REPLY
    other = reply(run, examined="2026-10-25")
    run("findings", "v.book", "S-1", other)
    both = json.loads(run("findings", "v.book", "S-1", "--json"))["examinations"]
    assert [each["examined"] for each in both] == ["2026-10-20", "2026-10-25"]
    corrected = reply(run, examiner="Another clinic")
    after = json.loads(run("findings", "v.book", "S-1", corrected, "--correct", first["id"], "--json"))
    assert [each["examiner"] for each in after["examinations"]] == ["Another clinic", "County clinic"]
    run("findings", "v.book", "S-1", "--take-out", after["examinations"][0]["id"])
    left = json.loads(run("findings", "v.book", "S-1", "--json"))["examinations"]
    assert [each["id"] for each in left] == [both[1]["id"]]
    assert "no examiner's audiogram" in run("findings", "v.book", "S-2")


def test_what_is_wrong_is_refused_by_name_and_nothing_is_kept(run):
    wrong = reply(run, left={"air": {"1000": 33}})
    assert "field 'left.air.1000.level_db_hl'" in run("findings", "v.book", "S-1", wrong, status=3)
    assert "field 'examined' lies ahead" in run(
        "findings", "v.book", "S-1", reply(run, examined="2090-01-01"), status=3
    )
    (run.path / "reply.json").write_bytes(b"\x89PNG")
    assert "not a JSON file" in run("findings", "v.book", "S-1", "reply.json", status=3)
    (run.path / "reply.json").write_text("[" * 50_000)
    assert "not a JSON file" in run("findings", "v.book", "S-1", "reply.json", status=3)
    assert "no child of that number" in run("findings", "v.book", "S-77", reply(run), status=3)
    assert "no such audiogram" in run("findings", "v.book", "S-1", "--take-out", "9@x", status=3)
    run("findings", "v.book", "S-1", "--correct", "9@x", status=2)
    run("findings", "v.book", "S-1", "--day", "2026-10-20", status=2)
    run("findings", "v.book", "S-1", reply(run), "--take-out", "9@x", status=2)
    assert json.loads(run("findings", "v.book", "S-1", "--json"))["examinations"] == []


def test_it_reaches_the_exports_and_the_record(run):
    run("findings", "v.book", "S-1", reply(run), "--day", "2026-11-02")
    for form in ("csv", "json", "fhir"):
        run("export", "v.book", "--format", form, "--out", "out")
    children = {c["student_number"]: c for c in json.loads((run.path / "out/children.json").read_text())}
    (exported,) = children["S-1"]["examinations"]
    assert {name: exported[name] for name in REPLY} == REPLY
    assert exported["came_back"] == "2026-11-02"
    assert [f["step"] for f in children["S-1"]["followups"]] == ["findings"]
    rows = list(
        csv.DictReader((run.path / "out/examiner-thresholds.csv").read_text("utf-8-sig").splitlines())
    )
    assert len(rows) == 11
    assert rows[0]["student_number"] == "S-1"
    silent = [r for r in rows if r["no_response_at_db_hl"]]
    assert [(r["ear"], r["hz"], r["threshold_db_hl"], r["no_response_at_db_hl"]) for r in silent] == [
        ("right", "8000", "", "100")
    ]
    assert [(r["conduction"], r["hz"]) for r in rows if r["masked"] == "yes"] == [("bone", "500")]
    run("papers", "v.book", "--out", "papers", "--only", "child-records")
