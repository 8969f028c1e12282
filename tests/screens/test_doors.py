"""What is asked before a walk begins: the station watch, signs at the ears; on a station in memory."""

from __future__ import annotations

from fieldapp.screens import phrases
from fieldapp.screens.add_child.presenter import AddChildPresenter
from fieldapp.screens.next_child.presenter import NextChildPresenter
from fieldapp.screens.readiness.presenter import ReadinessPresenter
from fieldapp.screens.today.presenter import TodayPresenter
from shared.records.entries import Reason
from shared.records.standing import Status

LEFT_EARPHONE = "Repeat the listening check: left earphone, all frequencies."


def alarmed(room):
    room.station.make_ready()
    room.station.asked = LEFT_EARPHONE


def seen(room, child, *signs):
    """Choose an ear problem in the child's menu; gives the sheet that asks."""
    asked = []
    room.session.ask_many = lambda *sheet: asked.append(sheet)
    room.menu_of(child).reasons[4].act()
    title, groups, button, act = asked[-1]
    assert title == f"{phrases.name_said(room.station.standing(child).person)}: what do you see?"
    choices = [choice for _words, choices in groups for choice in choices]
    assert button(()) == ("Choose what you see", False)
    assert set(signs) <= {key for key, _said in choices}
    return button(signs)[0], lambda: act(signs)


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


def test_the_sheet_says_why_the_station_is_doubted(room):
    alarmed(room)
    room.station.missed, room.station.walked = 5, 6
    sheets = []
    room.session.ask = lambda title, words, choices: sheets.append(words)
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("2@book")
    why, asked, _then = sheets[-1].split("\n")
    assert "5 of the last 6 children missed a tone" in why and asked == LEFT_EARPHONE


def test_how_a_reason_is_taken_back_is_said_only_where_one_was_given(room):
    rows = NextChildPresenter(room.session)
    rows.enter()
    menus = []
    rows.show_menu = menus.append
    rows.more("2@book")
    room.station.reasons_given = lambda _child: {Reason.ABSENT}
    rows.more("2@book")
    assert [menu.reasons_words for menu in menus] == [
        "Not tested because …",
        "Not tested because … Tap the chosen reason again to take it back.",
    ]


def test_where_the_whole_check_is_due_the_sheet_promises_no_short_one(room, monkeypatch):
    alarmed(room)  # and the day has changed since, or the screener
    room.station.missed, room.station.walked = 5, 6
    monkeypatch.setattr(type(room.station), "short_check", None)
    sheets = []
    room.session.ask = lambda title, words, choices: sheets.append((title, words, choices[0][0]))
    rows = NextChildPresenter(room.session)
    rows.enter()
    rows.choose("2@book")
    title, words, way = sheets[-1]
    assert (title, way) == ("Not ready to test yet", "Do the readiness check")
    assert "one pass" not in words and "5 of the last 6 children missed a tone" in words
    assert TodayPresenter(room.session).view().check == "Do the readiness check"


def test_the_alarm_after_the_last_child_is_met_at_the_next_one(room):
    result = room.passed()
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
    room.screened("++++++")
    room.station.reasons_given = lambda _child: {Reason.DECLINED}
    taken = []
    room.station.take_back = taken.append
    declined = room.menu_of("1@book").reasons[1]
    assert declined.chosen and declined.text.startswith("✓")
    declined.act()
    assert taken == ["1@book"]
