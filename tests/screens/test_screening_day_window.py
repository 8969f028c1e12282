"""Real touches on the real window: from unlocking to a class list that shows a passing and a failing child."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from shared.records.standing import Status
from tests.facts import PASSPHRASE, READY
from tests.screens.conftest import Ticks

pytestmark = pytest.mark.window


def unlock(hand, passphrase=PASSPHRASE):
    hand.unlock(passphrase, "MK")


def make_ready(hand):
    """As the readiness screen records it; ``test_the_day`` walks the screen itself."""
    hand.session.station.check_readiness(READY)
    hand.session.go("next_child")
    hand.frames()


def walk_the_readiness_check(hand):
    hand.touch("Do the readiness check")
    for sign in "AM-04":
        hand.touch(sign)
    hand.touch(hand.front._part.ids.earphones)
    for sign in "EP-04":
        hand.touch(sign)
    hand.touch("Next")
    for part in ("2026", "Aug", "20"):
        hand.touch(part)
    hand.touch("Next")
    for _ in range(6):
        hand.touch("not checked")
    hand.touch("Next")
    for _ in range(6):
        hand.touch("not checked")
    hand.touch("Next")
    for _ in range(6):
        hand.touch("5")
    hand.touch("Next")
    hand.touch("Check")
    assert hand.sees("Ready to test at 20 dB HL")
    hand.touch("Start screening")


def answer(hand, text, wait=0.32):
    hand.session.ticks.wait(wait)
    hand.touch(text)


@pytest.fixture
def hand(visit):
    from demo.window import Hand

    hand = Hand(visit.session(ticks=Ticks()))
    yield hand
    hand.close()


def test_a_wrong_passphrase_is_said_plainly(hand):
    unlock(hand, "six loud bells rang")
    assert hand.screen == "unlock"
    assert any("passphrase" in words.lower() for words in hand.words())
    assert hand.front.ids.passphrase.text == ""


def test_no_child_before_the_readiness_check(hand):
    unlock(hand)
    hand.touch("3B")
    hand.touch("Velloso, Amara")
    assert hand.sees("Not ready to test yet")
    hand.touch("Do the readiness check")
    assert hand.screen == "readiness"


def test_reasons_in_the_menu_of_a_child(hand):
    unlock(hand)
    make_ready(hand)
    hand.session.class_name = "3B"
    hand.session.go("next_child")
    child = hand.session.station.rows("3B")[0].child
    for tap, status in (
        ("Declined by guardian", Status.DECLINED),
        ("Absent", Status.ABSENT),
        ("✓ Absent", Status.NOT_SEEN),
    ):
        hand.app.stage.current.presenter.more(child)
        hand.frames()
        hand.touch(tap)
        assert hand.session.station.standing(child).status is status
    hand.touch("‹ Today")
    assert hand.screen == "today"


def test_the_day(hand, visit):
    unlock(hand)
    assert hand.screen == "today"
    walk_the_readiness_check(hand)
    assert hand.screen == "next_child"
    hand.touch("3B")
    hand.touch("Velloso, Amara")
    assert hand.screen == "walk"
    for _ in range(6):  # a passing child: six answer taps ...
        answer(hand, "Heard")
    assert hand.screen == "result"
    assert hand.sees("Heard every tone")
    hand.session.ticks.wait(1)
    hand.touch("Wetherell, Tobias")  # ... and one for the next child
    assert hand.screen == "walk"
    for heard in (True, True, False, True, True, True):
        answer(hand, "Heard" if heard else "No response")
    assert hand.sees("Reseat the earphones")
    answer(hand, "Reseated: walk again")
    for heard in (True, True, False, True, True, True):
        answer(hand, "Heard" if heard else "No response")
    assert hand.screen == "result"
    assert hand.sees("To be screened again")
    assert hand.sees("right 4000 Hz")
    shown = hand.words()
    hand.touch("Undo last answer")  # a slip on the very last tone
    assert hand.screen == "walk" and hand.session.station.current is not None
    answer(hand, "Heard")
    assert hand.screen == "result" and hand.words() == shown
    hand.session.ticks.wait(1)
    hand.touch("Someone else")
    assert hand.session.station.current is None
    hand.touch("3B")
    assert hand.sees("passed · 8:00 am")
    assert hand.sees("rescreen · right 4000 Hz")
    statuses = {s.person.given: s.status for s in hand.session.station.standings()}
    assert statuses["Amara"] is Status.PASSED
    assert statuses["Tobias"] is Status.RESCREEN


def test_a_slip_on_the_last_tone_can_be_taken_back(hand):
    unlock(hand)
    make_ready(hand)
    hand.touch("Velloso, Amara" if hand.sees("Velloso") else "Fairweather, Mei")
    for _ in range(6):
        answer(hand, "Heard")
    hand.touch("Undo last answer")
    assert hand.screen == "walk"
    assert len(hand.session.station.current[1].answers) == 5


def test_after_a_crash_exactly_there(hand, visit):
    unlock(hand)
    make_ready(hand)
    hand.touch("Fairweather, Mei")
    answer(hand, "Heard")
    answer(hand, "No response")
    child, walk = hand.session.station.current
    hand.session.station.ledger.vault.close()  # the app is gone; nothing is said to it
    hand.session.station = None
    hand.app.stage.current = None
    hand.app.stage.go("unlock")
    hand.frames()
    unlock(hand)
    assert hand.screen == "walk"
    assert hand.session.station.current == (child, walk)


def test_keys_and_pedal_answer_too(hand):
    unlock(hand)
    make_ready(hand)
    hand.touch("Fairweather, Mei")
    for key in ("h", "pagedown", "n"):
        hand.session.ticks.wait(1)
        hand.key(key)
    assert [a.heard for a in hand.session.station.current[1].answers] == [True, True, False]
    hand.key("u")
    assert len(hand.session.station.current[1].answers) == 2


def test_a_child_by_keys_alone(hand):
    hand.type(PASSPHRASE)
    hand.key("tab")
    hand.type("MK")
    hand.key("tab")
    hand.key("enter")
    hand.until(lambda: hand.screen == "today")
    make_ready(hand)
    for letter in "ve":
        hand.key(letter)
    assert hand.sees("Velloso, Amara") and not hand.sees("Fairweather")
    hand.key("pagedown")  # the pedal: the first of the list
    assert hand.screen == "walk"
    hand.key("s")
    assert hand.sees("Stop this child?")
    hand.key("escape")
    assert hand.screen == "walk" and not hand.sees("Stop this child?")
    for _ in range(6):
        hand.session.ticks.wait(1)
        hand.key("space")
    assert hand.screen == "result"
    hand.session.ticks.wait(1)
    hand.key("enter")
    assert hand.screen == "walk" and hand.sees("Mei Fairweather")  # the class that is open goes on


def test_locking_takes_every_name_off_the_screen_at_once(hand):
    unlock(hand)
    make_ready(hand)
    hand.touch("Fairweather, Mei")
    hand.session.ticks.wait(hand.session.settings.lock_minutes * 60 + 1)
    hand.app.stage._idle(0)
    assert hand.screen == "unlock"
    assert not hand.sees("Fairweather") and not hand.sees("Mei")
    assert hand.session.station is None
    hand.frames()
    unlock(hand)
    assert hand.screen == "walk"


def test_a_look_alike_is_shown_before_a_child_is_added_twice(hand):
    unlock(hand)
    make_ready(hand)
    hand.touch("+ Add a child")
    hand.touch(hand.front.ids.family.ids.entry)
    hand.type("Wetherall")
    hand.touch(hand.front.ids.given.ids.entry)
    hand.type("Tobias")
    assert hand.sees("Already on the list?")
    hand.touch("Wetherell, Tobias")
    assert hand.screen == "walk"
    assert hand.sees("Tobias Wetherell")
    assert len(hand.session.station.standings()) == 5


def test_a_birth_date_is_chosen_part_by_part_and_kept_only_by_the_button(hand):
    unlock(hand)
    make_ready(hand)
    hand.touch("+ Add a child")
    hand.touch(hand.front.ids.given.ids.entry)
    hand.type("Nia")
    adding = hand.front
    hand.touch(adding.ids.born)
    assert hand.sees("Born · Nia")
    for part in ("2018", "Feb", "3"):
        hand.touch(part)
    assert adding.presenter.born == ""
    hand.touch("Mar")
    hand.touch("Take this date")
    assert adding.presenter.born == "2018-03-03"
    hand.touch(adding.ids.born)
    hand.touch("2017")
    hand.touch("Back")
    assert adding.presenter.born == "2018-03-03"


def test_on_a_low_screen_every_year_and_the_button_are_within_the_plate(visit):
    from demo.window import Hand

    hand = Hand(visit.session(ticks=Ticks()), (800, 480), 1.0)
    unlock(hand)
    make_ready(hand)
    hand.session.go("add_child")
    hand.front.choose_born()
    hand.frames()
    plate = hand.front
    grid, inside = plate.picker._grids["year"], plate.ids.inside
    assert grid.parent is plate.picker and grid.cols == 6
    assert grid.right <= inside.right and grid.x >= inside.x
    assert hand.faults() == []
    hand.close()


def test_a_child_marked_absent_is_named_below_the_list_and_undone_there(hand):
    unlock(hand)
    make_ready(hand)
    hand.session.class_name = "3B"
    hand.session.go("next_child")
    station = hand.session.station
    child = station.rows("3B")[0].child
    hand.front.presenter.more(child)
    hand.frames()
    hand.touch("Absent")
    assert any(words.startswith("Noted. ") and words.endswith(": absent") for words in hand.words())
    assert station.standing(child).status is Status.ABSENT
    hand.touch("Undo")
    assert station.standing(child).status is Status.NOT_SEEN
    hand.touch("3A")
    assert not any(words.startswith("Noted. ") for words in hand.words())


def test_the_dates_stay_where_they_are_when_the_day_is_chosen(hand):
    unlock(hand)
    hand.session.go("readiness")
    hand.front.presenter.open_step("calibrated")
    hand.frames()
    picker = hand.front._part.ids.picker
    before = picker.to_window(picker.x, picker.top)
    for part in ("2026", "Aug", "20"):
        hand.touch(part)
    hand.frames()
    assert picker.to_window(picker.x, picker.top) == before


def test_the_limits_of_the_noise_are_chosen_among_all_that_are_offered(hand):
    unlock(hand)
    hand.session.go("readiness")
    act = hand.front.presenter
    act.open_step("noise")
    hand.frames()
    assert hand.sees("✓ ANSI S3.1-1999")
    hand.touch("ASHA 1997")
    hand.touch("Insert")
    assert (act.noise_set, act.earphone_type) == ("asha-1997", "insert")
    assert hand.sees("✓ ASHA 1997") and hand.sees("✓ Insert")


def test_a_half_filled_check_is_there_again_after_the_idle_lock(hand):
    unlock(hand)
    hand.touch("Do the readiness check")
    for sign in "AM-04":
        hand.touch(sign)
    hand.session.ticks.wait(hand.session.settings.lock_minutes * 60 + 1)
    hand.app.stage._idle(0)
    assert hand.screen == "unlock"
    hand.frames()
    unlock(hand)
    hand.touch("Do the readiness check")
    assert hand.front.ids.body.children[0].ids.audiometer.text == "AM-04"


def test_a_pin_brings_the_screen_back_and_five_wrong_ones_do_not(hand):
    unlock(hand)
    hand.session.screen_lock.set_pin("2749")
    hand.app.stage.lock()
    hand.frames()
    assert hand.screen == "pin"
    assert hand.session.station is not None and not hand.sees("Tern Hollow")
    for digit in "2749":
        hand.touch(digit)
    hand.touch("✓")
    assert hand.screen == "today"
    hand.app.stage.lock()
    hand.frames()
    hand.touch("✓")  # nothing typed is no try
    assert hand.sees("Type the PIN first.") and hand.session.screen_lock.tries_left == 5
    for _ in range(5):
        hand.touch("1")
        hand.touch("✓")
    assert hand.screen == "unlock"
    assert hand.session.station is None


def test_nothing_of_the_day_is_in_clear_in_any_file_of_the_app(hand, visit):
    """After children were screened by touch: the store's folder, Kivy's own folder, the temporary files."""
    unlock(hand)
    walk_the_readiness_check(hand)
    hand.touch("3B")
    hand.touch("Velloso, Amara")
    for _ in range(6):
        answer(hand, "Heard")
    assert hand.sees("Amara Velloso")
    hand.session.station.give_back(visit.folder / "C.return")
    secrets = [text for p in visit.people for text in (p.given, p.family, p.born, p.student_number)]
    places = [visit.folder, Path(os.environ["KIVY_HOME"]).parent]
    files = [file for place in places for file in place.rglob("*") if file.is_file()]
    assert len(files) >= 3
    for file in files:
        said = file.name.encode() + file.read_bytes()
        assert not [secret for secret in secrets if len(secret) > 3 and secret.encode() in said], file
