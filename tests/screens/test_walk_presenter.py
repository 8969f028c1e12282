"""The tone walk without a window, on a station in memory."""

from __future__ import annotations

from fieldapp.screens.next_child.presenter import NextChildPresenter
from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.today.presenter import TodayPresenter
from fieldapp.screens.walk.presenter import WalkPresenter
from shared.records.standing import Status
from tests.screens.room import Room


def test_a_passing_child_takes_six_answers(room):
    room.station.begin("1@book")
    room.walk("++++++")
    assert room.went[-1] == ("result", {"child": "1@book", "open_walk": True})


def test_a_second_tap_within_a_blink_is_no_answer(room):
    room.station.begin("1@book")
    walk = room.walk("+")
    walk.answer(True)
    assert len(room.station.current[1].answers) == 1
    room.clock.wait(0.31)
    walk.answer(True)
    assert len(room.station.current[1].answers) == 2


def test_what_to_turn_is_said_from_the_tone_before(room):
    room.station.begin("1@book")
    walk = room.walk("")
    assert walk.view().turn == "Set 1000 Hz, 20 dB HL, right earphone"
    said = []
    for _ in range(5):
        room.clock.wait(1)
        walk.answer(True)
        said.append(walk.view().turn)
    assert said == [
        "Turn up from 1000 to 2000 Hz",
        "Turn up from 2000 to 4000 Hz",
        "Switch to the left earphone, stay at 4000 Hz",
        "Turn down from 4000 to 2000 Hz",
        "Turn down from 2000 to 1000 Hz",
    ]


def test_a_changed_level_is_said_too():
    room = Room()
    room.station.protocol_name = "connecticut-10-214"  # 25 dB HL at 4000 Hz
    room.station.__post_init__()
    room.station.begin("1@book")
    walk = room.walk("++")
    assert walk.view().turn == "Turn up from 2000 to 4000 Hz, change the level to 25"


def test_the_map_says_each_answer_and_tells_a_missed_one_apart(room):
    room.station.begin("1@book")
    view = room.walk("+-").view()
    cells = {(ear, at): (stage, word) for ear, at, stage, word in view.cells}
    assert cells["right", 0] == ("done", "heard")
    assert cells["right", 1] == ("missed", "NR")
    assert cells["right", 2] == ("now", "now")
    assert cells["left", 0] == ("ahead", "")


def test_presentations_are_counted_and_start_anew_with_each_tone(room):
    room.station.begin("1@book")
    walk = room.walk("")
    for _ in range(6):
        walk.present()
    assert walk.presentations == 4
    assert "Presented 4 times" in walk.view().limit
    walk.answer(False)
    assert room.station.said[-1] == ("answer", False, 4)
    assert walk.presentations == 0


def test_misses_ask_for_reseating_and_then_all_tones_again(room):
    room.station.begin("1@book")
    walk = room.walk("++-+++")
    view = walk.view()
    assert view.due and "right 4000 Hz" in view.due_words
    walk.reseat()
    assert walk.view().due  # the thumb that gave the last answer
    room.clock.wait(1)
    walk.reseat()
    assert walk.view().hz == "1000" and not walk.view().may_reseat


def test_a_full_disk_keeps_the_screen_where_it_is(room):
    room.station.begin("1@book")
    walk = room.walk("+")
    room.station.full_disk = True
    room.clock.wait(1)
    walk.answer(True)
    assert room.told[-1][0] == "The disk is full."
    assert walk.view().hz == "2000"
    room.station.full_disk = False
    walk.answer(True)
    assert walk.view().hz == "4000"


def test_undo_goes_back_one_answer_at_a_time(room):
    room.station.begin("1@book")
    walk = room.walk("+-")
    walk.undo()
    assert walk.view().hz == "2000"
    walk.undo()
    walk.undo()
    assert walk.view().hz == "1000" and not walk.view().may_undo


def test_one_comes_back_to_the_list_and_class_that_were_open(room):
    room.station.make_ready()
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.open_class("4A")
    room.session.class_name = None  # the app was closed
    room.session.go_home()
    assert room.went[-1][0] == "next_child" and room.session.class_name == "4A"
    TodayPresenter(room.session).enter()
    room.session.go_home()
    assert room.went[-1][0] == "today"


def test_a_note_can_be_written_while_a_child_is_walked(room):
    asked = []
    room.session.ask_text = lambda title, label, button, act: asked.append((title, act))
    room.session.menu()
    assert "Note on this child …" not in room.asked[-1][1]
    room.station.begin("1@book")
    room.session.menu()
    room.asked[-1][1]["Note on this child …"]()
    title, act = asked[-1]
    assert title == "A note on Amara Velloso"
    act("wears glasses")
    assert room.station.standings["1@book"].observations == ("wears glasses",)


def test_stopping_with_a_reason_is_recorded_and_without_one_leaves_the_child_unseen(room):
    room.station.begin("1@book")
    walk = room.walk("+")
    walk.ask_stop()
    assert {"Ear problem …", "Under care", "Declined by guardian"} < room.asked[-1][1].keys()
    room.asked[-1][1]["Could not test …"]()
    assert room.asked[-1][0] == "Why could Amara Velloso not be tested?"
    room.asked[-1][1]["Did not understand what to do"]()
    assert room.station.standing("1@book").status is Status.COULD_NOT_TEST
    room.station.begin("2@book")
    walk = room.walk("")
    walk.ask_stop()
    room.asked[-1][1]["Wrong child / later"]()
    assert room.station.standing("2@book").status is Status.NOT_SEEN
    assert room.went[-1][0] == "next_child"


def test_the_practice_child_is_recorded_nowhere(room):
    walk = WalkPresenter(room.session)
    walk.enter(practice=True)
    for _ in range(6):
        room.clock.wait(1)
        walk.answer(True)
    assert room.station.said == []
    assert room.went[-1] == ("result", {"practice": True})


def test_the_last_answer_of_practice_can_be_taken_back(room):
    walk = WalkPresenter(room.session)
    walk.enter(practice=True)
    for sign in "+++++":
        room.clock.wait(1)
        walk.answer(sign == "+")
    room.clock.wait(1)
    walk.answer(True)
    result = ResultPresenter(room.session)
    result.enter(**room.went[-1][1])
    assert result.view().may_undo
    result.undo()
    screen, arguments = room.went[-1]
    assert screen == "walk"
    walk.enter(**arguments)
    assert walk.practice and walk.view().ear == "left" and walk.view().may_undo
    assert sum(stage == "ahead" for *_, stage, _word in walk.view().cells) == 0
    assert room.station.said == []
