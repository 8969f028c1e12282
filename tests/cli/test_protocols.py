"""``quietbell protocol``: list, show, copy, check; and a visit prepared with a copy. Exit statuses as in README.md."""

from __future__ import annotations

import json

import pytest

from tests.cli.running import run_command

ROSTER = "Student ID,Last Name,First Name,DOB,Grade\nS-1,Alder,Ada,2018-03-14,3\n"


@pytest.fixture
def run(tmp_path):
    def command(*words, status=0):
        return run_command(tmp_path, *words, status=status, XDG_DATA_HOME=str(tmp_path / "data"))

    return command


def test_from_a_copy_over_a_change_by_hand_to_a_visit(run, tmp_path):
    told = run("protocol", "copy", "texas-37-24", "Tern Hollow")
    file = tmp_path / "data" / "quietbell" / "protocols" / "tern-hollow.toml"
    assert str(file) in told and file.is_file()
    file.write_text(file.read_text("utf-8").replace("4000 = 25", "4000 = 30"), "utf-8")
    checked = json.loads(run("protocol", "check", file, "--json"))
    assert checked == {
        "name": "tern-hollow",
        "copy_of": "texas-37-24",
        "changed": ["levels"],
        "borrowed_marks": ["levels"],
    }
    assert "taken as set locally: levels" in run("protocol", "check", file)
    shown = run("protocol", "show", "tern-hollow")
    assert "Tern Hollow (local copy of: Texas, 25 TAC 37.24)" in shown
    assert "1000 Hz: 25, 2000 Hz: 25, 4000 Hz: 30 dB HL  [set locally]" in shown
    assert "[read in the source]" in shown and "NOT VERIFIED" in shown
    assert json.loads(run("protocol", "show", "tern-hollow", "--json"))["marks"]["levels"] == "set locally"
    (tmp_path / "list.csv").write_text(ROSTER, "utf-8")
    for book, protocol in (("a.book", "tern-hollow"), ("b.book", file)):
        made = run("prepare", book, "--roster", "list.csv", "--school", "Tern", "--protocol", protocol)
        assert "Tern Hollow, a local copy of Texas, 25 TAC 37.24." in made


def test_a_file_that_makes_no_sense_names_its_field(run, tmp_path):
    run("protocol", "copy", "aaa-2011", "Ours", "--out", "ours.toml")
    text = (tmp_path / "ours.toml").read_text("utf-8")
    assert not (tmp_path / "data").exists(), "a copy with --out is nobody's but the file's"
    for before, after, field in (
        ("1000 = 20", "1000 = 22", "levels.by_hz"),
        ("    14,\n    42,", "    42,\n    14,", "rescreen_days"),
        ("    1000,\n    2000,\n    4000,\n]\nsecond_ear", "]\nsecond_ear", "frequencies"),
        ("presentations", "presentation", "presentation"),
    ):
        assert before in text
        (tmp_path / "wrong.toml").write_text(text.replace(before, after, 1), "utf-8")
        assert f"'{field}'" in run("protocol", "check", "wrong.toml", status=3)
    error = json.loads(run("protocol", "check", "wrong.toml", "--json", status=3))["error"]
    assert error["todo"]


def test_the_list_has_the_own_ones_first_and_names_a_broken_one(run, tmp_path):
    run("protocol", "copy", "aaa-2011", "Ours")
    broken = tmp_path / "data" / "quietbell" / "protocols" / "broken.toml"
    broken.write_text('name = "broken"', "utf-8")
    rows = json.loads(run("protocol", "list", "--json"))
    assert [(row["name"], row["own"]) for row in rows[:3]] == [
        ("broken", True),
        ("ours", True),
        ("aaa-2011", False),
    ]
    assert rows[0]["problem"] and not rows[1]["problem"]
    assert len(rows) == 2 + 11
    assert "(made here)" in run("protocol", "list")


@pytest.mark.parametrize(
    ("words", "status"),
    [
        (("protocol",), 2),
        (("protocol", "forget", "aaa-2011"), 2),
        (("protocol", "show", "no-such"), 3),
        (("protocol", "check", "no-such.toml"), 3),
        (("protocol", "copy", "aaa-2011", "aaa-2011"), 3),
        (("protocol", "copy", "aaa-2011", "Ours", "--out", "ours.txt"), 3),
    ],
)
def test_wrong_use_and_refusals(run, words, status):
    assert run(*words, status=status)
