"""The ``quietbell`` command as a person calls it: its exit statuses, its messages, its JSON, and that no
message is a traceback. Exit statuses are those of the command reference in README.md."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.cli.running import run_command
from tests.facts import READY

ROSTER = """\
Student ID;Last Name;First Name;DOB;Grade;Homeroom
S-1;Alder;Ada;3/14/2018;3;3B
S-2;Birch;Ben;11/2/2018;3;3B
S-3;Cedar;Cy;1/30/2017;04;4A
S-4;;Nameless;1/30/2017;04;4A
"""
READY_LINE = {"do": "ready", **READY}


class Folder:
    """Runs commands in a folder."""

    def __init__(self, path) -> None:
        self.path = path

    def __call__(self, *words, **more):
        return run_command(self.path, *words, **more)

    def script(self, name, *lines):
        first = {"at": "2026-10-14T08:30:00-05:00", "do": "sign-in", "screener": "MK"}
        text = "\n".join(json.dumps(line) for line in (first, READY_LINE, *lines))
        (self.path / name).write_text(text)
        return name


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A book with two tablets that have played a short day and given back."""
    run = Folder(tmp_path_factory.mktemp("visit"))
    (run.path / "roster.csv").write_bytes(ROSTER.encode("cp1252"))
    run(
        *("prepare", "lead.book", "--roster", "roster.csv", "--school", "Quillmarsh School"),
        *("--protocol", "aaa-2011", "--date", "2026-10-14"),
    )
    for name in "AB":
        run("handout", "lead.book", "--tablet", name, "--out", f"{name}.handout")
        run("receive", f"{name}.handout", "--store", f"{name}.store")
    run.script(
        "A.jsonl",
        {"do": "screen", "child": "S-1", "answers": "+++-++/++++++"},
        {"do": "absent", "child": "S-2"},
    )
    added = {
        "do": "add",
        "ref": "w1",
        "given": "Wren",
        "family": "Oak",
        "born": "2017-05-02",
        "grade": "3",
        "class": "3B",
    }
    run.script("B.jsonl", added, {"do": "screen", "child": "w1", "answers": "+++-++/+++-++"})
    for name in "AB":
        run("play", f"{name}.store", f"{name}.jsonl")
        run("give-back", f"{name}.store", "--out", f"{name}.return")
    return run


def test_a_small_day_from_roster_to_lists(folder):
    gathered = json.loads(folder("gather", "lead.book", "A.return", "B.return", "--json"))
    assert (gathered["listed"], gathered["added"], gathered["joined"], gathered["children"]) == (3, 1, 0, 4)
    status = json.loads(folder("status", "lead.book", "--json"))
    assert status["children"] == sum(status["statuses"].values()) == 4
    assert {name: n for name, n in status["statuses"].items() if n} == {
        "not-seen": 1,
        "absent": 1,
        "passed": 1,
        "rescreen": 1,
    }
    assert set(status["devices"]) == {"A", "B"}
    assert all(device["entries"] > 3 and device["missing"] == [] for device in status["devices"].values())
    assert status["doubts"] == 0
    assert json.loads(folder("doubts", "lead.book", "--json")) == []
    again = json.loads(folder("gather", "lead.book", "B.return", "A.return", "--json"))
    assert [each["new"] for each in again["returns"]] == [0, 0]
    folder("papers", "lead.book", "--out", "papers", "--only", "rescreen-list", "not-yet-screened-list")
    assert (folder.path / "papers/rescreen-list.pdf").read_bytes().startswith(b"%PDF")
    assert "Oak" in (folder.path / "papers/rescreen-list.csv").read_text("utf-8-sig")
    folder("export", "lead.book", "--format", "json", "--out", "export")
    children = json.loads((folder.path / "export/children.json").read_text("utf-8"))
    ada = next(child for child in children if child["student_number"] == "S-1")
    assert (ada["given"], ada["family"], ada["born"], ada["grade"], ada["class"]) == (
        "Ada",
        "Alder",
        "2018-03-14",
        "3",
        "3B",
    )
    assert ada["status"] == "passed"
    assert len(ada["answers"]) == 12
    first = ada["answers"][0]
    assert {"ear", "hz", "level_db_hl", "heard", "at", "device"} <= first.keys()
    assert (first["ear"], first["hz"], first["level_db_hl"], first["heard"]) == ("right", 1000, 20, True)


def test_prepare_names_the_rows_it_did_not_take(folder):
    told = json.loads(
        folder(
            *("prepare", "again.book", "--roster", "roster.csv", "--school", "X", "--protocol", "aaa-2011"),
            *("--date", "2026-10-14", "--json"),
        )
    )
    assert told["children"] == 3
    assert [problem["line"] for problem in told["problems"]] == [5]


def test_a_wrong_passphrase_is_status_4(folder):
    assert "passphrase" in folder("status", "A.store", passphrase="not the one at all", status=4)


@pytest.mark.parametrize(
    ("words", "status", "message"),
    [
        (("dance", "x"), 2, "unrecognized"),
        (("prepare", "x.book"), 2, "required"),
        (("settle", "lead.book"), 2, "required"),
        (("status", "roster.csv"), 5, "not"),
        (("status", "nowhere.store"), 3, "no store"),
        (("gather", "A.store", "A.return"), 5, "tablet store"),
        (("gather", "lead.book", "nowhere.return"), 3, "cannot be read"),
        (("play", "lead.book", "A.jsonl"), 5, "visit book"),
        (("receive", "A.return", "--store", "x.store"), 5, "is a return"),
        (("receive", "A.handout", "--store", "A.store"), 3, "already"),
        (("settle", "lead.book", "d00000000", "one"), 3, "no open doubt"),
        (("papers", "lead.book", "--out", "papers", "--only", "shopping-list"), 2, "shopping-list"),
        (("handout", "lead.book", "--tablet", "C", "--out", "C.handout", "--class", "9Z"), 3, "9Z"),
        (("handout", "lead.book", "--tablet", "A", "--out", "B.handout"), 3, "already"),
    ],
)
def test_bad_input_has_its_own_words_and_status(folder, words, status, message):
    before = {
        file.name: file.read_bytes()
        for file in folder.path.iterdir()
        if file.is_file() and file.suffix == ".store"
    }
    told = folder(*words, status=status)
    if words[0] != "gather" or status == 5:
        assert message in told
    for name, data in before.items():
        assert (folder.path / name).read_bytes() == data


def test_a_roster_that_is_no_table_is_status_3(folder):
    (folder.path / "picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 20)
    told = folder(
        *("prepare", "y.book", "--roster", "picture.csv", "--school", "X", "--protocol", "aaa-2011"), status=3
    )
    assert told.startswith("quietbell: ")
    assert not (folder.path / "y.book").exists()


def test_an_unknown_protocol_is_status_3_and_names_the_presets(folder):
    told = folder(
        *("prepare", "y.book", "--roster", "roster.csv", "--school", "X", "--protocol", "best"), status=3
    )
    assert "aaa-2011" in told


def test_a_play_line_that_the_rules_refuse_keeps_everything_before_it(folder):
    folder("receive", "A.handout", "--store", "C.store")
    script = folder.script(
        "C.jsonl",
        {"do": "screen", "child": "S-1", "answers": "++++++"},
        {"do": "screen", "child": "S-1", "answers": "++++++"},
        {"do": "absent", "child": "S-2"},
    )
    told = folder("play", "C.store", script, status=3)
    assert "Line 4" in told
    assert "3 lines before it are kept" in told
    statuses = json.loads(folder("status", "C.store", "--json"))["statuses"]
    assert (statuses["passed"], statuses["absent"]) == (1, 0)


def test_a_weak_passphrase_is_refused_kindly(folder):
    told = folder(
        *("prepare", "z.book", "--roster", "roster.csv", "--school", "X", "--protocol", "aaa-2011"),
        passphrase="short",
        status=3,
    )
    assert "characters" in told


def test_no_passphrase_and_no_terminal_is_wrong_use(folder):
    environment = {k: v for k, v in os.environ.items() if k != "QUIETBELL_PASSPHRASE"} | {
        "PYTHONPATH": os.getcwd()
    }
    done = subprocess.run(
        [sys.executable, "-m", "fieldapp", "status", "A.store"],
        cwd=folder.path,
        env=environment,
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )
    assert done.returncode == 2
    assert "QUIETBELL_PASSPHRASE" in done.stderr


def test_a_passphrase_is_changed_or_replaced_by_the_lead(folder, monkeypatch):
    folder("receive", "A.handout", "--store", "P.store")
    monkeypatch.setenv("QUIETBELL_NEW_PASSPHRASE", "four other grey herons")
    folder("passphrase", "P.store")
    folder("status", "P.store", status=4)
    monkeypatch.setenv("QUIETBELL_NEW_PASSPHRASE", "five quite new herons")
    folder("passphrase", "P.store", "--book", "lead.book")
    folder("status", "P.store", passphrase="four other grey herons", status=4)
    folder("status", "P.store", passphrase="five quite new herons")


def test_a_child_is_looked_up_and_corrected(folder):
    found = json.loads(folder("children", "lead.book", "--search", "bi", "--json"))
    assert [(each["student_number"], each["family"]) for each in found] == [("S-2", "Birch")]
    assert "S-2  Birch, Ben" in folder("children", "lead.book", "--class", "3B")
    assert "Corrected: family, language." in folder(
        *("correct", "lead.book", "S-2", "--family", "Birk", "--language", "Spanish", "--grade", "3")
    )
    refused = folder(*("correct", "lead.book", "S-2", "--born", "3/4/2018", "--grade", "blue"), status=3)
    assert "born: This date can be read in two ways." in refused and "grade: This is no grade." in refused
    assert "Nothing had to be changed." in folder("correct", "lead.book", found[0]["id"], "--family", "Birk")
    assert "no such child" in folder("correct", "lead.book", "S-99", "--family", "Birk", status=3)
    assert "Nothing to correct" in folder("correct", "lead.book", "S-2", status=2)


def test_closing_lists_who_has_no_result_and_takes_a_word_on_a_tablet(folder):
    run = Folder(folder.path / "closing")
    run.path.mkdir()
    (run.path / "roster.csv").write_bytes(ROSTER.encode("cp1252"))
    run(
        *("prepare", "b.book", "--roster", "roster.csv", "--school", "Quillmarsh School"),
        *("--protocol", "aaa-2011", "--date", "2026-10-14"),
    )
    run("handout", "b.book", "--tablet", "A", "--out", "A.handout")
    first = (run.path / "A.handout").read_bytes()
    assert "Nothing was overwritten." in run(
        "handout", "b.book", "--tablet", "A", "--out", "A.handout", status=3
    )
    assert (run.path / "A.handout").read_bytes() == first
    run("handout", "b.book", "--tablet", "A", "--out", "A.handout", "--replace")
    assert (run.path / "A.handout").read_bytes() != first
    run("close", "b.book", status=3)
    told = json.loads(run("close", "b.book", "--unused", "A", "--json"))
    assert told["closed"] and told["tablets"] == {"A": "unused"} and told["in_the_way"] == []
    assert [each["student_number"] for each in told["without_result"]] == ["S-1", "S-2", "S-3"]
    assert "The visit is open." in run("close", "b.book", "--reopen")
    run("close", "b.book", "--expect", "A", status=3)
    said = run("close", "b.book", "--lost", "A")
    assert "tablet A: is lost" in said and "Alder, Ada; 3B; S-1; not-seen" in said


def test_a_roster_says_who_is_exempt_and_who_is_due_again(folder):
    roster = (
        "Student ID,Last Name,First Name,DOB,Grade,Class,Opt out date\n"
        "S-1,Alder,Ada,2014-03-14,8,8A,2026-01-20\nS-2,Birch,Ben,2014-11-02,7,7A,2025-09-30\n"
        "S-3,Cedar,Cy,2015-01-30,7,7A,\n"
    )
    (folder.path / "exempt.csv").write_text(roster, "utf-8")
    words = (
        "--roster",
        "exempt.csv",
        "--school",
        "X",
        "--protocol",
        "california-2951",
        "--date",
        "2026-10-14",
    )
    said = folder("prepare", "exempt.book", *words)
    assert "Exempt by what is on file: 1 child." in said
    assert "line 3: due again, the report or refusal on file has run out" in said
    told = json.loads(folder("prepare", "due.book", *words, "--only-due", "--json"))
    assert (told["children"], told["exempt"]) == (
        2,
        1,
    )  # grade 7 is not due; Ben is due again
    assert [each["line"] for each in told["exemptions_over"]] == [3]
