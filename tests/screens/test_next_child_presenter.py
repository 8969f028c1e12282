"""Who is next without a window: search, classes, the menu of a child; on a station in memory."""

from __future__ import annotations

import pytest

from fieldapp.screens.next_child.presenter import NextChildPresenter
from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.today.presenter import TodayPresenter
from shared.errors import Refused
from shared.records.entries import Reason
from shared.records.standing import Status


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
    assert "“ZZ”" in rows.view().empty


def test_only_letters_that_lead_to_a_child_are_offered(room):
    rows = NextChildPresenter(room.session)
    rows.enter()
    assert "Z" not in rows.live() and {"V", "A", "W"} <= set(rows.live())
    rows.type("we")
    assert rows.live() == ["T"]
    rows.type("in")
    assert rows.live() == ["E"]  # Inés, searched without its accent


def test_a_child_with_a_result_is_walked_again_only_with_a_reason(room):
    room.screened("++++++")
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("1@book")
    title, ways = room.asked[-1]
    assert "passed" in title
    ways["The station was at fault"]()
    assert room.station.said[-1] == ("begin", "1@book", "The station was at fault")


def test_absent_can_be_said_from_the_list_and_taken_back(room):
    menu = room.menu_of("2@book")
    assert menu.title == "Tobias Wetherell · not yet seen"
    menu.reasons[0].act()
    assert room.station.standing("2@book").status is Status.ABSENT
    menu = room.menu_of("2@book")
    assert menu.title.endswith("absent") and menu.reasons[0].chosen
    menu.reasons[0].act()
    assert room.station.standing("2@book").status is Status.NOT_SEEN


def test_a_reason_from_the_list_is_said_and_undone_there(room):
    rows, menu = room.open_list()
    menu("2@book").reasons[0].act()
    assert rows.noted == "Noted. Tobias Wetherell: absent" and rows.may_undo
    rows.undo()
    assert room.station.standing("2@book").status is Status.NOT_SEEN
    assert rows.noted == "Noted. Tobias Wetherell: not yet seen" and not rows.may_undo
    rows.type("ve")
    assert rows.noted == ""


def test_undo_is_not_offered_where_it_would_lose_an_earlier_reason(room):
    rows, menu = room.open_list()
    menu("2@book").reasons[1].act()
    menu("2@book").reasons[0].act()
    assert rows.noted == "Noted. Tobias Wetherell: absent" and not rows.may_undo
    rows.undo()
    assert room.station.standing("2@book").status is Status.ABSENT


def test_an_ear_problem_from_the_list_is_said_and_undone_there(room):
    rows, menu = room.open_list()
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
    rows, menu = room.open_list()
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

    places = named(room.menu_of("2@book"))
    for reason in Reason:
        room.station.not_tested("2@book", reason)
        menu = room.menu_of("2@book")
        assert named(menu) == places
        assert [way.chosen for way in menu.reasons] == [each is reason for each in Reason]
        assert [way.open for way in menu.tests] == [False, False]
    room.station.begin("1@book")
    room.walk("++-+++/++-+++")
    room.station.finish()
    assert [way.open for way in room.menu_of("1@book").tests] == [True, True]


def test_what_the_station_refuses_is_said(room):
    def refuse(*_args):
        raise Refused("This was not recorded on this tablet.", kept="Nothing was changed.")

    room.station.not_tested("2@book", Reason.DECLINED)
    room.station.take_back = refuse
    room.menu_of("2@book").reasons[1].act()
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
    room.screened("++-+++/++-+++")
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
