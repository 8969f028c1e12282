"""The screener's presenters without a window, on a station in memory."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from fieldapp.screens import phrases
from fieldapp.screens.add_child.presenter import AddChildPresenter
from fieldapp.screens.give_back.presenter import GiveBackPresenter
from fieldapp.screens.next_child.presenter import NextChildPresenter
from fieldapp.screens.readiness.presenter import ITEMS, ReadinessPresenter
from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.session import Session
from fieldapp.screens.today.presenter import TodayPresenter
from fieldapp.screens.unlock.presenter import UnlockPresenter
from fieldapp.screens.walk.presenter import WalkPresenter
from shared.errors import Refused, WrongPassphrase
from shared.records.entries import Reason
from shared.records.standing import Status


class Room:
    """A session whose navigation, sheets and timers are written down instead of shown."""

    def __init__(self):
        fakes = sys.modules.get("tests_fake_station") or _load()
        self.clock = fakes.FakeClock()
        self.station = fakes.FakeStation(self.clock)
        self.went, self.told, self.asked, self.timers = [], [], [], []
        self.session = Session(
            opener=lambda _path, passphrase: self._open(passphrase),
            clock=self.clock,
            ticks=self.clock.ticks,
            station=self.station,
            go=lambda name, **more: self.went.append((name, more)),
            tell=lambda title, words: self.told.append((title, words)),
            ask=lambda title, words, choices: self.asked.append((title, {c[0]: c[2] for c in choices})),
            after=self._after,
        )

    def _after(self, seconds, act):
        self.timers.append((seconds, act))
        return lambda: self.timers.clear()

    def _open(self, passphrase):
        if passphrase != "right":
            raise WrongPassphrase("This passphrase does not open the file.", kept="Nothing was changed.")
        return self.station

    def walk(self, signs):
        walk = WalkPresenter(self.session)
        walk.enter()
        for sign in signs:
            self.clock.wait(1)
            if sign == "/":
                walk.reseat()
            else:
                walk.answer(sign == "+")
        return walk


def _load():
    spec = importlib.util.spec_from_file_location(
        "tests_fake_station", Path(__file__).with_name("fake_station.py")
    )
    module = importlib.util.module_from_spec(spec)
    sys.modules["tests_fake_station"] = module
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def room():
    return Room()


# -- unlocking -----------------------------------------------------------------------------------


def test_a_wrong_passphrase_is_said_and_the_third_costs_a_wait(room):
    room.session.station = None
    unlock = UnlockPresenter(room.session)
    unlock.enter()
    for _ in range(3):
        unlock.open("wrong", "MK")
        assert unlock.wrong == "This passphrase does not open the file. Nothing was changed."
    unlock.open("right", "MK")
    assert "Wait 2 s" in unlock.wrong
    room.clock.wait(2.1)
    unlock.open("right", "MK")
    assert room.went[-1][0] == "today"


def test_nothing_opens_without_passphrase_or_initials(room):
    unlock = UnlockPresenter(room.session)
    unlock.enter()
    unlock.open("", "")
    assert unlock.wrong and unlock.wrong_initials
    assert room.went == []


def test_unlocking_goes_where_the_work_was(room):
    room.station.make_ready()
    room.station.begin("1@book")
    unlock = UnlockPresenter(room.session)
    unlock.enter()
    unlock.open("right", "MK")
    assert room.went[-1][0] == "walk"


# -- the walk ------------------------------------------------------------------------------------


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
        "Turn up from 1000 to 2000",
        "Turn up from 2000 to 4000",
        "Switch to the left earphone, stay at 4000 Hz",
        "Turn down from 4000 to 2000",
        "Turn down from 2000 to 1000",
    ]


def test_a_changed_level_is_said_too():
    room = Room()
    room.station.protocol_name = "connecticut-10-214"  # 25 dB HL at 4000 Hz
    room.station.__post_init__()
    room.station.begin("1@book")
    walk = room.walk("++")
    assert walk.view().turn == "Turn up from 2000 to 4000, change the level to 25"


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
    room.asked[-1][1]["Could not test"]()
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


# -- the result ----------------------------------------------------------------------------------


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


def passed(room, child="1@book"):
    room.session.class_name = "3B"
    room.station.make_ready()
    room.station.begin(child)
    room.walk("++++++")
    result = ResultPresenter(room.session)
    result.enter(**room.went[-1][1])
    return result


def test_the_next_child_is_one_tap_away_and_closes_the_walk(room):
    result = passed(room)
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
    result = passed(room)
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
    result = passed(room)
    result.leave()
    result.enter(child="1@book", open_walk=True)
    assert result.view().title == "Heard every tone" and not result.view().may_undo


def test_locking_on_the_result_closes_the_walk(room):
    result = passed(room)
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


# -- the list ------------------------------------------------------------------------------------


def test_no_child_without_readiness(room):
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("1@book")
    assert room.asked[-1][0] == "Not ready to test yet"
    assert room.station.current is None


def test_two_letters_of_either_name_find_a_child_in_any_class(room):
    rows = NextChildPresenter(room.session)
    rows.enter(class_name="3B")
    rows.type("sa")
    assert [row["name"] for row in rows.view().rows] == ["Quillfeather, Samir"]
    rows.type("s")
    assert len(rows.view().rows) == 6  # one letter does not search
    rows.type("zz")
    assert "zz" in rows.view().empty


def test_only_letters_that_lead_to_a_child_are_offered(room):
    rows = NextChildPresenter(room.session)
    rows.enter()
    assert "Z" not in rows.live() and {"V", "A", "W"} <= set(rows.live())
    rows.type("we")
    assert rows.live() == ["T"]
    rows.type("in")
    assert rows.live() == ["E"]  # Inés, searched without its accent


def test_a_child_with_a_result_is_walked_again_only_with_a_reason(room):
    room.station.make_ready()
    room.station.begin("1@book")
    room.walk("++++++")
    room.station.finish()
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("1@book")
    title, ways = room.asked[-1]
    assert "passed" in title
    ways["The station was at fault"]()
    assert room.station.said[-1] == ("begin", "1@book", "The station was at fault")


def menu_of(room, child):
    shown = []
    rows = NextChildPresenter(room.session)
    rows.show_menu = shown.append
    rows.enter()
    rows.more(child)
    return shown[-1]


def test_absent_can_be_said_from_the_list_and_taken_back(room):
    menu = menu_of(room, "2@book")
    assert menu.title == "Tobias Wetherell · not yet seen"
    menu.reasons[0].act()
    assert room.station.standing("2@book").status is Status.ABSENT
    menu = menu_of(room, "2@book")
    assert menu.title.endswith("absent") and menu.reasons[0].chosen
    menu.reasons[0].act()
    assert room.station.standing("2@book").status is Status.NOT_SEEN


def open_list(room):
    """The list with its menus; gives the presenter and what opens the menu of a child."""
    rows, shown = NextChildPresenter(room.session), []
    rows.show_menu = shown.append
    rows.enter()

    def menu(child):
        rows.more(child)
        return shown[-1]

    return rows, menu


def test_a_reason_from_the_list_is_said_and_undone_there(room):
    rows, menu = open_list(room)
    menu("2@book").reasons[0].act()
    assert rows.noted == "Noted. Tobias Wetherell: absent" and rows.may_undo
    rows.undo()
    assert room.station.standing("2@book").status is Status.NOT_SEEN
    assert rows.noted == "Noted. Tobias Wetherell: not yet seen" and not rows.may_undo
    rows.type("ve")
    assert rows.noted == ""


def test_undo_is_not_offered_where_it_would_lose_an_earlier_reason(room):
    rows, menu = open_list(room)
    menu("2@book").reasons[1].act()
    menu("2@book").reasons[0].act()
    assert rows.noted == "Noted. Tobias Wetherell: absent" and not rows.may_undo
    rows.undo()
    assert room.station.standing("2@book").status is Status.ABSENT


def test_an_ear_problem_from_the_list_is_said_and_undone_there(room):
    rows, menu = open_list(room)
    sheets = []
    room.session.ask_many = lambda *sheet: sheets.append(sheet)
    menu("2@book").reasons[4].act()
    sheets[-1][3](("sign:drainage", "ear:left"))
    assert room.station.standing("2@book").status is Status.EAR_PROBLEM
    assert rows.noted.startswith("Noted. Tobias Wetherell: ") and rows.may_undo
    rows.undo()
    assert room.station.standing("2@book").status is Status.NOT_SEEN


@pytest.mark.parametrize("language", ["en", "es"])
def test_what_was_noted_is_never_kept_for_the_next_look_at_the_list(room, language):
    room.session.change(language=language)
    rows, menu = open_list(room)
    menu("2@book").reasons[0].act()
    assert "Tobias Wetherell" in rows.noted
    rows.enter()
    assert rows.noted == "" and not rows.may_undo


def test_after_a_crash_somebody_else_is_looked_for_in_the_class_of_the_child_in_hand(room):
    room.station.make_ready()
    room.station.begin("1@book")  # of 3B, while 3A has unseen children too
    room.session.class_name = None  # the app was killed
    room.session.go_home()
    assert room.went[-1][0] == "walk"
    room.walk("++++++")
    result = ResultPresenter(room.session)
    result.enter(**room.went[-1][1])
    assert result.view().heading == "Next in 3B"
    room.clock.wait(1)
    result.choose()
    rows = NextChildPresenter(room.session)
    rows.enter(**room.went[-1][1])
    assert [name for _key, name, _count, chosen in rows.view().tiles if chosen] == ["3B"]


def test_somebody_else_after_a_child_found_among_all_is_of_the_class_the_result_names(room):
    room.session.class_name = None
    room.station.make_ready()
    room.station.begin("1@book")
    room.walk("++++++")
    result = ResultPresenter(room.session)
    result.enter(**room.went[-1][1])
    room.clock.wait(1)
    result.choose()
    assert result.view().heading == "Next in 3B" and room.session.class_name == "3B"


def test_the_menu_has_one_place_for_every_reason_and_names_the_tests_apart(room):
    room.station.make_ready()

    def named(menu):
        return [way.text.removeprefix("✓ ").removesuffix(" …") for way in menu.reasons]

    places = named(menu_of(room, "2@book"))
    for reason in Reason:
        room.station.not_tested("2@book", reason)
        menu = menu_of(room, "2@book")
        assert named(menu) == places
        assert [way.chosen for way in menu.reasons] == [each is reason for each in Reason]
        assert [way.open for way in menu.tests] == [False, False]
    room.station.begin("1@book")
    room.walk("++-+++/++-+++")
    room.station.finish()
    assert [way.open for way in menu_of(room, "1@book").tests] == [True, True]


def test_what_the_station_refuses_is_said(room):
    def refuse(*_args):
        raise Refused("This was not recorded on this tablet.", kept="Nothing was changed.")

    room.station.not_tested("2@book", Reason.DECLINED)
    room.station.take_back = refuse
    menu_of(room, "2@book").reasons[1].act()
    assert room.told[-1] == ("This was not recorded on this tablet.", "Nothing was changed.")
    assert room.station.standing("2@book").status is Status.DECLINED


@pytest.mark.parametrize(
    ("reason", "go", "left"),
    [
        (Reason.DECLINED, "Consent has been given now", Status.NOT_SEEN),
        (Reason.UNDER_CARE, "Screen all the same", Status.UNDER_CARE),
    ],
)
def test_a_declined_child_or_one_under_care_is_walked_only_after_a_question(room, reason, go, left):
    room.station.make_ready()
    room.station.not_tested("2@book", reason)
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("2@book")
    assert room.station.current is None and room.went == []
    title, ways = room.asked[-1]
    assert "Tobias Wetherell" in title and list(ways) == [go, "Back"]
    ways["Back"]()
    assert room.station.current is None
    ways[go]()
    assert room.station.current[0] == "2@book" and room.went[-1][0] == "walk"
    assert room.station.standing("2@book").status is left


def test_a_rescreen_that_is_not_due_says_its_day_as_people_do(room):
    room.station.make_ready()
    room.station.begin("1@book")
    room.walk("++-+++/++-+++")
    room.station.finish()
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("1@book")
    assert room.asked[-1][0] == "The rescreen is not due before 28 Sep 2026."
    room.asked[-1][1]["Walk again"]()
    room.asked[-1][1]["The station was at fault"]()
    assert room.station.current[0] == "1@book"


def test_classes_are_counted(room):
    room.station.not_tested("7@book", Reason.ABSENT)
    rows = NextChildPresenter(room.session)
    rows.enter()
    tiles = {name: said for _key, name, said, _chosen in rows.view().tiles}
    assert tiles["3A"] == "1 left"
    assert tiles["All"] == "10 left"


def test_on_a_later_day_an_absent_child_waits_again(room):
    room.station.not_tested("7@book", Reason.ABSENT)
    today = TodayPresenter(room.session)
    assert ("3A", "1 left", False) in today.view().classes
    room.clock.wait(24 * 3600)
    assert ("3A", "2 left", False) in today.view().classes
    rows = NextChildPresenter(room.session)
    rows.enter(class_name="3A")
    assert all(row["waiting"] for row in rows.view().rows)


# -- the station watch, ears ---------------------------------------------------------------------


LEFT_EARPHONE = "Repeat the listening check: left earphone, all frequencies."


def alarmed(room):
    room.station.make_ready()
    room.station.asked = LEFT_EARPHONE


def test_after_an_alarm_the_next_child_waits_for_one_pass_of_the_listening_check(room):
    alarmed(room)
    today = TodayPresenter(room.session)
    assert LEFT_EARPHONE in today.view().ready_words and today.view().check == "Repeat the check"
    rows = NextChildPresenter(room.session)
    rows.enter()
    assert rows.view().sign == "Check the station"
    rows.choose("2@book")
    assert room.station.current is None
    title, ways = room.asked[-1]
    assert title == "The station has to be checked first."
    ways["Repeat the check"]()
    assert room.went[-1][0] == "readiness"
    ready = ReadinessPresenter(room.session)
    ready.enter()
    assert ready.step == "listening" and LEFT_EARPHONE in ready.asked_words()
    assert ready.filled("own") and ready.filled("equipment") and not ready.filled("listening")
    for tone in ready.tones:
        ready.tap_tone(tone)
    assert ready.last
    ready.onward()
    assert ready.verdict.passed and room.station.ready.open


def test_the_alarm_after_the_last_child_is_met_at_the_next_one(room):
    result = passed(room)
    room.clock.wait(1)
    room.station.asked = LEFT_EARPHONE
    result.begin(result.view().following[0][0])
    assert room.station.current is None and room.station.standing("1@book").status is Status.PASSED
    assert room.asked[-1][0] == "The station has to be checked first."


def test_a_tone_that_is_not_clean_ends_the_check_with_what_to_do(room):
    alarmed(room)
    ready = ReadinessPresenter(room.session)
    ready.enter()
    bad = ("left", 4000)
    ready.tap_tone(bad)
    assert not ready.fault_found
    ready.tap_tone(bad)
    assert ready.fault_found
    assert ready.spoilt_words().startswith("Not clean: left 4000 Hz. Change the cord")
    said = {tone: word for _ear, cells in ready.grid() for tone, _done, word in cells}
    assert said[bad] == "✗ not clean" and said["right", 1000] == "not checked"
    ready.onward()
    assert not ready.verdict.passed and room.station.facts["not_clean"] == {"left": [4000]}
    assert ready.verdict.words.startswith("Not clean in the listening check: left earphone, 4000 Hz.")
    assert "incomplete" not in ready.verdict.words
    assert not room.station.ready.open
    ready.enter()
    ready.tap_tone(bad), ready.tap_tone(bad), ready.tap_tone(bad)
    assert not ready.spoilt and not ready.clean  # a third tap: not listened to


def test_other_equipment_after_an_alarm_makes_it_a_whole_check(room):
    alarmed(room)
    ready = ReadinessPresenter(room.session)
    ready.enter()
    ready.open_step("equipment")
    ready.press("9")
    ready.enter()  # one looked elsewhere in between
    assert ready.short is None and ready.numbers["audiometer"] == "AM-049"
    assert not any(ready.filled(step) for step in ("calibrated", "inspection", "listening", "own"))


def seen(room, child, *signs):
    """Choose an ear problem in the child's menu; gives the sheet that asks."""
    asked = []
    room.session.ask_many = lambda *sheet: asked.append(sheet)
    menu_of(room, child).reasons[4].act()
    title, groups, button, act = asked[-1]
    assert title == f"{phrases.name_said(room.station.standing(child).person)}: what do you see?"
    choices = [choice for _words, choices in groups for choice in choices]
    assert button(()) == ("Choose what you see", False)
    assert set(signs) <= {key for key, _said in choices}
    return button(signs)[0], lambda: act(signs)


def test_a_sign_that_stops_goes_to_the_medical_list_and_is_named(room):
    room.station.make_ready()
    button, take = seen(room, "2@book", "sign:drainage", "ear:left")
    assert button == "No earphones: to the medical list"
    take()
    standing = room.station.standing("2@book")
    assert standing.status is Status.EAR_PROBLEM
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("2@book")
    title, ways = room.asked[-1]
    assert title == "No earphones for Tobias Wetherell today."
    assert list(ways) == ["Noted by mistake: take it back", "More about this child …", "Back"]
    ways["Noted by mistake: take it back"]()
    assert room.station.current[0] == "2@book"


def test_a_harmless_sign_is_noted_and_the_child_may_be_tested(room):
    room.station.make_ready()
    button, take = seen(room, "2@book", "sign:structure")
    assert button == "Note it: earphones may go on"
    take()
    standing = room.station.standing("2@book")
    assert standing.status is Status.NOT_SEEN and standing.observations == ("outer ear formed unusually",)


def test_a_look_alike_goes_through_the_same_doors(room):
    room.station.make_ready()
    for reason, title in (
        (Reason.DECLINED, "The guardian of Tobias Wetherell declined."),
        (Reason.UNDER_CARE, "Tobias Wetherell is under care elsewhere."),
        (Reason.EAR_PROBLEM, "No earphones for Tobias Wetherell today."),
    ):
        room.station.not_tested("2@book", reason)
        adding = AddChildPresenter(room.session)
        adding.enter(typed="wetherall")
        adding.set(given="Toby")
        adding.choose("2@book")
        assert room.asked[-1][0] == title and room.station.current is None


def test_a_reason_under_a_result_is_taken_back_from_the_menu(room):
    room.station.make_ready()
    room.station.begin("1@book")
    room.walk("++++++")
    room.station.finish()
    room.station.reasons_given = lambda _child: {Reason.DECLINED}
    taken = []
    room.station.take_back = taken.append
    declined = menu_of(room, "1@book").reasons[1]
    assert declined.chosen and declined.text.startswith("✓")
    declined.act()
    assert taken == ["1@book"]


# -- adding, readiness, today --------------------------------------------------------------------


def test_a_look_alike_is_offered_before_adding(room):
    room.station.make_ready()
    adding = AddChildPresenter(room.session)
    adding.enter(typed="wetherall")
    assert adding.alike == []
    adding.set(given="Toby")
    assert [alike.name for alike in adding.alike] == ["Wetherell, Tobias"]
    adding.choose("2@book")
    assert room.station.current[0] == "2@book"


def test_an_added_child_is_screened_at_once(room):
    room.station.make_ready()
    adding = AddChildPresenter(room.session)
    adding.enter()
    adding.set(given="Nia", family="Ostrander", born="2018-02-03", class_name="3B")
    adding.add()
    standing = room.station.standing(room.station.current[0])
    assert standing.person.added and standing.person.grade == "3"


def filled_readiness(room, level=5):
    ready = ReadinessPresenter(room.session)
    ready.enter()
    for sign in "AM-04":
        ready.press(sign)
    ready.type_into("earphones")
    for sign in "EP-4⌫04":
        ready.press(sign)
    ready.choose_date("2026-08-20")
    for item in ITEMS:
        ready.tap_item(item)
    for tone in ready.tones:
        ready.tap_tone(tone)
    for _tone in ready.tones:
        ready.choose_level(level)
    return ready


def test_readiness_step_by_step_opens_the_station(room):
    ready = filled_readiness(room)
    assert ready.numbers == {"audiometer": "AM-04", "earphones": "EP-04"}
    for _ in range(6):
        ready.onward()
    assert ready.step == "verdict"
    assert ready.verdict.passed and "20 dB HL" in ready.verdict.title
    ready.onward()
    assert room.went[-1][0] == "next_child"


def test_what_was_entered_is_kept_when_one_looks_elsewhere(room):
    ready = filled_readiness(room)
    ready.enter()
    assert ready.numbers["audiometer"] == "AM-04" and ready.calibrated == "2026-08-20"
    ready.check()
    ready.enter()
    assert ready.numbers["audiometer"] == "" and ready.verdict is None


def test_a_check_that_was_begun_outlasts_the_lock_for_the_same_screener_and_day(room):
    ready = ReadinessPresenter(room.session)
    ready.enter()
    ready.numbers["audiometer"] = "AM-04"
    ready.choose_level(5)
    ready.open_step("own")
    ready.leave()  # the lock throws every screen away
    again = ReadinessPresenter(room.session)
    again.enter()
    assert again.numbers["audiometer"] == "AM-04" and again.step == "own" and len(again.own) == 1
    again.choose_level(10)
    assert len(ready.own) == 1  # a copy: the old screen is not written on

    room.station.screener = "TW"  # other ears: these own thresholds are not theirs
    other = ReadinessPresenter(room.session)
    assert other.numbers["audiometer"] == "" and other.own == {}
    room.station.screener = "MK"
    room.clock.wait(24 * 3600)
    assert ReadinessPresenter(room.session).own == {}


def test_a_check_that_was_made_is_not_taken_up_again(room):
    ready = filled_readiness(room)
    ready.leave()
    ready.check()
    ready.leave()
    assert room.session.begun_check == {}
    assert ReadinessPresenter(room.session).numbers["audiometer"] == ""


def test_noise_that_was_not_measured_never_looks_done(room):
    ready = filled_readiness(room)

    def noise():
        return next(sign for sign in ready.signs() if sign.title == "Noise")

    assert not noise().done and not noise().skipped
    ready.check()
    assert ready.verdict.passed
    assert not noise().done and noise().skipped
    ready.open_step("noise")
    ready.press_noise("9")
    ready.open_step("own")
    assert noise().done and not noise().skipped


def test_a_too_high_own_threshold_keeps_the_station_closed(room):
    ready = filled_readiness(room, level=40)
    ready.check()
    assert not ready.verdict.passed
    ready.onward()
    assert room.went[-1][0] == "today"
    assert not room.station.ready.open


def test_own_thresholds_are_asked_for_in_reading_order(room):
    ready = ReadinessPresenter(room.session)
    ready.enter()
    asked = []
    for _tone in ready.tones:
        asked.append(ready.asked)
        ready.choose_level(5)
    assert asked == [(ear, hz) for ear in ("right", "left") for hz in (1000, 2000, 4000)]


def test_something_broken_keeps_the_station_closed(room):
    ready = filled_readiness(room)
    ready.tap_item("cords")
    ready.check()
    assert not ready.verdict.passed


def test_today_says_why_the_station_is_closed_and_goes_there(room):
    today = TodayPresenter(room.session)
    assert today.view().ready_words == "The readiness check has not been done."
    assert today.view().check == "Do the readiness check"
    today.start()
    assert room.went[-1][0] == "readiness"
    room.station.make_ready()
    assert "20 dB HL" in today.view().ready_words
    assert today.view().check == "Repeat the readiness check"
    today.start()
    assert room.went[-1][0] == "next_child"


def test_the_return_is_announced_by_its_whole_path(room, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    room.session.exchange = Path()  # as the command gives the folder it is run in
    back = GiveBackPresenter(room.session)
    back.enter()
    assert back.file == tmp_path / "C-2026-09-14.return"
