"""Scripts: the lines of DESIGN's command page as given there, and what happens at a line that is refused."""

from __future__ import annotations

import json

import pytest

from fieldapp.services.script import LineRefused, Player
from shared.records.standing import Status

LINES = """\
{"at": "2026-10-14T08:30:00-05:00", "do": "sign-in", "screener": "MK"}
{"do": "ready", "audiometer": "AM-04", "earphones": "EP-04", "calibrated": "2026-08-20", \
"listening": {"right": [1000, 2000, 4000], "left": [1000, 2000, 4000]}, \
"own_thresholds": {"right": {"1000": 5, "2000": 5, "4000": 0}, "left": {"1000": 10, "2000": 5, "4000": 5}}}
{"do": "screen", "child": "S-1", "answers": "+++-++/++++++"}
{"do": "add", "ref": "w1", "given": "Wren", "family": "Oak", "born": "2017-05-02", "grade": "3", "class": "3B"}
{"do": "screen", "child": "w1", "answers": "+++-++/+++-++"}
{"do": "absent", "child": "S-2"}
{"do": "could-not-test", "child": "S-3", "note": "would not keep still"}
{"do": "ear-problem", "child": "S-4", "note": "sore"}
"""


@pytest.fixture
def player(visit):
    station = visit.tablet("A", ready=False)
    return Player(station, visit.clock)


def test_the_lines_of_the_command_page_play(visit, player):
    played = player.play(LINES.splitlines())
    assert (played.lines, played.screened) == (8, 2)
    station = player.station
    statuses = {s.person.student_number or s.person.given: s.status for s in station.standings()}
    assert statuses == {
        "S-1": Status.PASSED,
        "Wren": Status.RESCREEN,
        "S-2": Status.ABSENT,
        "S-3": Status.COULD_NOT_TEST,
        "S-4": Status.EAR_PROBLEM,
    }
    assert station.standing(station.find("S-2")).since == "2026-10-14T08:35:00-05:00"


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ("not json", "not a JSON object"),
        ("[1]", "not a JSON object"),
        ('{"do": "dance"}', "no such thing"),
        ('{"do": "screen", "child": "S-99", "answers": "++++++"}', "no child of that"),
        ('{"do": "screen", "child": "S-2", "answers": "+++"}', "not whole"),
        ('{"do": "screen", "answers": "+++"}', "'child' is missing"),
        ('{"do": "absent", "child": "S-2", "at": "tomorrow"}', "not a date and time"),
        ('{"do": "add", "ref": "w2", "given": "", "family": "Oak"}', "both needed"),
    ],
)
def test_a_refused_line_stops_with_its_number_and_all_before_it_is_kept(player, line, reason):
    lines = [*LINES.splitlines()[:3], line, '{"do": "absent", "child": "S-4"}']
    with pytest.raises(LineRefused, match=reason) as refused:
        player.play(lines)
    assert refused.value.line == 4
    assert refused.value.exit_status == 3
    assert "3 lines before it are kept" in refused.value.kept
    statuses = {s.person.student_number: s.status for s in player.station.standings()}
    assert statuses["S-1"] is Status.PASSED
    assert statuses["S-4"] is Status.NOT_SEEN


def test_no_child_is_screened_before_the_station_is_ready(player):
    lines = [LINES.splitlines()[0], json.dumps({"do": "screen", "child": "S-1", "answers": "++++++"})]
    with pytest.raises(LineRefused, match="not ready"):
        player.play(lines)


def test_the_signs_of_an_ear_problem_are_judged_by_the_rule(player):
    lines = [
        LINES.splitlines()[0],
        '{"do": "ear-problem", "child": "S-3", "signs": ["drainage"], "ears": ["left"], "note": "since Monday"}',
        '{"do": "ear-problem", "child": "S-4", "signs": ["structure"]}',
    ]
    player.play(lines)
    problem, noted = (player.station.standing(player.station.find(number)) for number in ("S-3", "S-4"))
    assert (problem.status, problem.signs, problem.ears) == (Status.EAR_PROBLEM, ("drainage",), ("left",))
    assert noted.status is Status.NOT_SEEN and noted.observations == ("outer ear formed unusually",)


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        ('{"do": "ear-problem", "child": "S-3", "signs": ["sneezing"]}', "no such sign"),
        ('{"do": "ear-problem", "child": "S-3", "signs": "drainage"}', "not a list"),
        ('{"do": "ready", "carry_over": true, "listening": {"right": [1000]}}', "carry anything over"),
        ('{"do": "ready", "not_clean": {"middle": [1000]}}', "by ear"),
    ],
)
def test_signs_and_checks_that_make_no_sense_are_refused(player, line, reason):
    with pytest.raises(LineRefused, match=reason):
        player.play([LINES.splitlines()[0], line])


def test_a_look_alike_that_is_not_on_the_list_is_named_by_its_own_field(player):
    line = '{"do": "add", "ref": "w9", "given": "Ann", "family": "Oak", "unlike": ["nobody"]}'
    with pytest.raises(LineRefused, match="no child of that") as refused:
        player.play([*LINES.splitlines()[:3], line])
    assert "'unlike'" in refused.value.todo
