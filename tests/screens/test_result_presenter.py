"""A child's result without a window, on a station in memory."""

from __future__ import annotations

import pytest

from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.walk.presenter import WalkPresenter
from shared.records.standing import Status


def test_the_next_child_is_one_tap_away_and_closes_the_walk(room):
    result = room.passed()
    first, name = result.view().following[0]
    assert name == "Abernethy, Lou"
    result.begin(first)
    assert (
        room.station.current is None or room.station.current[0] == "1@book"
    )  # too soon: the answering finger
    room.clock.wait(1)
    result.begin(first)
    assert room.station.standing("1@book").status is Status.PASSED
    assert room.station.current[0] == first


def test_a_passed_walk_can_be_taken_back_until_the_next_child(room):
    result = room.passed()
    room.clock.wait(600)
    assert room.timers == [] and result.view().may_undo
    result.undo()
    assert room.went[-1][0] == "walk"
    assert len(room.station.current[1].answers) == 5
    assert room.station.standing("1@book").status is Status.NOT_SEEN
    room.clock.wait(1)
    walk = WalkPresenter(room.session)
    walk.enter()
    walk.answer(True)
    result.enter(**room.went[-1][1])
    result.leave()
    assert room.station.current is None
    assert room.station.standing("1@book").status is Status.PASSED
    assert not result.view().may_undo


@pytest.mark.parametrize("signs", ["++-+++/++-++-", "++-++-"])
def test_a_failing_result_can_be_taken_back_too(room, signs):
    room.station.begin("1@book")
    walk = room.walk(signs)
    if "/" not in signs:
        walk.finish()  # without reseating
    result = ResultPresenter(room.session)
    result.enter(**room.went[-1][1])
    assert result.view().title == "To be screened again" and result.view().may_undo
    answers = len(room.station.current[1].answers)
    result.undo()
    assert room.went[-1] == ("walk", {})
    assert len(room.station.current[1].answers) == answers - 1
    assert room.station.standing("1@book").status is Status.NOT_SEEN


def test_a_turned_tablet_builds_the_result_anew(room):
    result = room.passed()
    result.leave()
    result.enter(child="1@book", open_walk=True)
    assert result.view().title == "Heard every tone" and not result.view().may_undo


def test_locking_on_the_result_closes_the_walk(room):
    result = room.passed()
    result.leave()
    assert room.station.standing("1@book").status is Status.PASSED


def test_a_failing_result_says_what_happens_next_and_no_diagnosis(room):
    room.station.begin("1@book")
    room.walk("++-+++/++-+++")
    result = ResultPresenter(room.session)
    result.enter(**room.went[-1][1])
    view = result.view()
    assert view.title == "To be screened again"
    assert "right 4000 Hz" in view.words
    assert "28 Sep 2026" in view.words and "26 Oct 2026" in view.words  # 14 to 42 days, set locally
    assert "not a diagnosis" in view.caution


def test_a_note_and_a_threshold_test_are_said_to_be_kept(room):
    result = room.passed()
    assert "The note is kept." not in result.view().words
    room.session.ask_text = lambda _title, _label, _button, keep, **_more: keep("had a cold")
    result.note()
    assert result.view().words.endswith("The note is kept.")
    result.enter(child="1@book", measured=True)
    assert result.view().words.endswith("The thresholds found are recorded.")
