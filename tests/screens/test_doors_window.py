"""Real touches on the real window: the doors before a walk, the station that the watch has closed, pause."""

from __future__ import annotations

import pytest

from shared.records.entries import Kind, Reason
from shared.records.standing import Status
from tests.facts import DEAD_LEFT, PASSPHRASE, READY
from tests.screens.conftest import Ticks

pytestmark = pytest.mark.window


@pytest.fixture
def hand(visit):
    from demo.window import Hand

    hand = Hand(visit.session(ticks=Ticks()))
    hand.unlock(PASSPHRASE, "MK")
    hand.session.station.check_readiness(READY)
    hand.session.class_name = "3B"
    hand.session.go("next_child")
    hand.frames()
    yield hand
    hand.close()


def named(hand, given):
    station = hand.session.station
    return next(s for s in station.standings() if s.person.given == given)


def dots(hand, given):
    """The menu of a child, as its three dots open it."""
    hand.app.stage.current.presenter.more(named(hand, given).child)
    hand.frames()


def test_the_watch_closes_the_station_and_one_pass_of_listening_opens_it(hand):
    station = hand.session.station
    while not station.ready.asked:
        waiting = [row for row in station.rows(None) if station.waits(row)]
        if not waiting:
            for count in range(6):
                station.add_child(type(named(hand, "Amara").person)(f"New{count}", "Comer", class_name="3B"))
            continue
        station.walk_script(waiting[0].child, DEAD_LEFT)
    hand.session.go("today")
    hand.frames()
    assert any("The station has to be checked first." in words for words in hand.words())
    assert hand.pressable("Who is next?").disabled
    hand.touch("Repeat the check")
    assert hand.screen == "readiness" and hand.sees("Everything else is carried over")
    for _ in range(6):
        hand.touch("not checked")
    hand.touch("✓ clean")  # one of them was not
    assert hand.sees("✗ not clean") and hand.sees("Change the cord")
    hand.touch("Record the fault")
    assert hand.sees("Not ready to test")
    hand.touch("Back to today")
    hand.touch("Repeat the check")
    for _ in range(6):
        hand.touch("not checked")
    hand.touch("Check")
    assert hand.sees("Ready to test at 20 dB HL")
    hand.touch("Start screening")
    assert station.ready.open
    checks = station.ledger.register.entries(Kind.READINESS_CHECKED)
    assert [entry.body["passed"] for entry in checks] == [True, False, True]
    assert checks[1].body["not_clean"] and checks[2].body["repeated"] == ["listening"]


def test_an_alarm_while_walking_lets_the_child_be_finished_and_then_asks(hand):
    station = hand.session.station
    added = [
        station.add_child(type(named(hand, "Amara").person)(f"New{count}", "Comer", class_name="3B"))
        for count in range(4)
    ]
    for child in added:
        station.walk_script(child, DEAD_LEFT)
    assert station.ready.open
    hand.session.go("next_child")
    hand.frames()
    hand.touch("Velloso, Amara")
    for sign in DEAD_LEFT:
        hand.session.ticks.wait(0.4)
        hand.touch({"+": "Heard", "-": "No response", "/": "Reseated: walk again"}[sign])
    assert hand.screen == "result"
    hand.session.ticks.wait(1)
    hand.touch("Wetherell, Tobias")
    assert hand.screen == "result" and hand.sees("The station has to be checked first.")
    assert station.current is None and named(hand, "Amara").status is Status.RESCREEN
    hand.touch("Repeat the check")
    assert hand.screen == "readiness"


def test_what_is_seen_at_the_ears_decides(hand):
    dots(hand, "Amara")
    hand.touch("Ear problem …")
    assert hand.pressable("Choose what you see").disabled
    hand.touch("outer ear formed unusually")
    assert not hand.pressable("Note it: earphones may go on").disabled
    hand.touch("drainage from the ear")
    hand.touch("Left")
    hand.touch("No earphones: to the medical list")
    standing = named(hand, "Amara")
    assert standing.status is Status.EAR_PROBLEM
    assert standing.signs == ("drainage", "structure") and standing.ears == ("left",)
    hand.touch("Velloso, Amara")  # the row: no bare refusal, but the ways there are
    assert hand.sees("No earphones for Amara Velloso today.") and hand.sees("drainage from the ear")
    hand.touch("More about this child …")
    hand.touch("✓ Ear problem")
    assert named(hand, "Amara").status is Status.NOT_SEEN


def test_an_ear_problem_is_seen_when_the_walk_has_begun(hand):
    hand.touch("Velloso, Amara")
    hand.touch(hand.front.ids.stop)
    hand.touch("Ear problem …")
    hand.touch("something worn, taken off")
    hand.touch("Note it: earphones may go on")
    assert hand.screen == "walk" and hand.session.station.current is not None
    hand.touch(hand.front.ids.stop)
    hand.touch("Ear problem …")
    hand.touch("pain in the ear")
    hand.touch("No earphones: to the medical list")
    assert hand.screen == "result" and hand.sees("The child is on the medical list.")
    assert named(hand, "Amara").observations == ("something worn, taken off",)


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        (Reason.DECLINED, "The guardian of Tobias Wetherell declined."),
        (Reason.UNDER_CARE, "Tobias Wetherell is under care elsewhere."),
        (Reason.EAR_PROBLEM, "No earphones for Tobias Wetherell today."),
    ],
)
def test_a_look_alike_passes_the_same_doors(hand, reason, said):
    hand.session.station.not_tested(named(hand, "Tobias").child, reason)
    hand.touch("+ Add a child")
    hand.touch(hand.front.ids.family.ids.entry)
    hand.type("Wetherall")
    hand.touch(hand.front.ids.given.ids.entry)
    hand.type("Tobias")
    hand.touch("Wetherell, Tobias")
    assert hand.sees(said) and hand.session.station.current is None


def test_pause_hides_every_name_and_a_touch_goes_on_exactly_there(hand):
    hand.touch("Velloso, Amara")
    hand.touch("Heard")
    walk = hand.session.station.current
    hand.touch("Tablet C · MK")
    hand.touch("Pause")
    assert not hand.sees("Velloso") and not hand.sees("Amara")
    hand.touch("Go on")
    assert hand.screen == "walk" and hand.sees("Amara Velloso") and hand.session.station.current == walk
    hand.session.pause()
    hand.frames()
    hand.session.ticks.wait(hand.session.settings.lock_minutes * 60 + 1)
    hand.app.stage._idle(0)
    assert hand.screen == "unlock" and hand.session.station is None


def test_pause_asks_for_the_pin_where_there_is_one_and_lock_for_the_passphrase(hand):
    hand.session.screen_lock.set_pin("2749")
    hand.session.pause()
    hand.frames()
    assert hand.screen == "pin"
    for digit in "2749":
        hand.touch(digit)
    hand.touch("✓")
    assert hand.screen == "next_child" and hand.sees("Velloso, Amara")  # exactly there
    hand.touch("Tablet C · MK")
    hand.touch("Lock: passphrase to open")
    assert hand.screen == "unlock" and hand.session.station is None


def test_the_pause_key_pauses_and_escape_goes_on(hand):
    hand.touch("Velloso, Amara")
    hand.key("pause")
    assert not hand.sees("Velloso") and hand.sees("Go on")
    hand.key("escape")
    assert hand.screen == "walk" and hand.sees("Amara Velloso")


def test_why_a_child_could_not_be_tested_is_kept(hand):
    dots(hand, "Amara")
    hand.touch("Could not test …")
    hand.touch("Could not sit still")
    standing = named(hand, "Amara")
    assert standing.status is Status.COULD_NOT_TEST and standing.note == "Could not sit still"
    dots(hand, "Tobias")
    hand.touch("Could not test …")
    hand.touch("In my own words …")
    hand.type("asleep")
    hand.touch("Keep the note")
    assert named(hand, "Tobias").note == "asleep"


def test_a_note_during_the_walk(hand):
    hand.touch("Velloso, Amara")
    hand.touch("Tablet C · MK")
    hand.touch("Note on this child …")
    hand.touch("Keep the note")
    assert hand.sees("Nothing is written yet.")
    hand.type("has a cold")
    hand.touch("Keep the note")
    assert hand.screen == "walk" and named(hand, "Amara").observations == ("has a cold",)


def test_after_a_crash_in_the_list_its_class_is_open_again(hand):
    hand.touch("4A")
    hand.session.station.ledger.vault.close()  # the app is gone; nothing is said to it
    hand.session.station, hand.session.class_name = None, None
    hand.app.stage.current = None
    hand.app.stage._resting.clear()
    hand.app.stage.go("unlock")
    hand.frames()
    hand.unlock(PASSPHRASE, "MK")
    assert hand.screen == "next_child" and hand.sees("Castellanos Ruiz, Inés") and not hand.sees("Velloso")


def test_practice_can_be_taken_back_at_its_end(hand):
    hand.session.go("walk", practice=True)
    hand.frames()
    for _ in range(6):
        hand.session.ticks.wait(0.4)
        hand.touch("Heard")
    assert hand.screen == "result"
    hand.touch("Undo last answer")
    assert hand.screen == "walk" and hand.sees("Practice child") and hand.sees("LEFT EAR")
    hand.session.ticks.wait(1)
    hand.touch("No response")
    assert hand.sees("Reseat the earphones")
    assert all(s.status is Status.NOT_SEEN for s in hand.session.station.standings())
