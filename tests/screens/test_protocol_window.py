"""By real touches: copy a protocol, change a level, try nonsense, save, prepare a visit; the tone walk uses it."""

from __future__ import annotations

import pytest

from shared.vault import CHEAP
from tests.facts import PASSPHRASE

pytestmark = pytest.mark.window

ROSTER = "Student ID,Last Name,First Name,DOB,Grade,Homeroom\nS-1,Velloso,Amara,2018-03-14,3,3B\n"


@pytest.fixture
def lead(tmp_path, visit):
    """A hand on the screen that prepares a visit, at the choice of the protocol."""
    from demo.window import Hand
    from fieldapp.services.desk import Desk

    (tmp_path / "list.csv").write_text(ROSTER, "utf-8")
    session = visit.session(
        tmp_path / "new.book",
        exchange=tmp_path,
        settings_path=tmp_path / "app" / "settings.json",
        prepare_book=lambda path, passphrase, **more: Desk.prepare(
            tmp_path / "new.book", passphrase, clock=visit.clock, cost=CHEAP, **more
        ),
    )
    hand = Hand(session, size=(800, 480), first="welcome")
    hand.touch("Prepare a visit")
    hand.touch("list.csv")
    hand.touch("Next")
    hand.front._part.ids.school.take_focus()
    hand.type("Tern Hollow Primary")
    hand.touch("Next")
    yield hand
    hand.close()


def line(hand, name):
    """Press a line of the list, scrolled to first as a finger would."""
    found = hand.front._rows[name]
    hand.front.ids.list.bring(found)
    hand.frames()
    hand.touch(found)


def key(hand, text, label):
    """The key of that text beside a label on the card, scrolled to."""
    from fieldapp.screens.protocol.screen import Stepper, TallStepper

    holder = next(
        w
        for w in hand.front.ids.lines.children[::-1]
        if isinstance(w, Stepper | TallStepper) and w.label == label
    )
    press = next(w for w in holder.ids.pads.children if w.text == text)
    hand.front.ids.about.bring(press)
    hand.frames()
    return press


def copy_of_the_default(hand, title="Tern Hollow district"):
    hand.touch(hand.front._part.ids.see)
    assert hand.screen == "protocol"
    hand.touch("Copy and change")
    hand.type(title)
    hand.touch("Copy")
    assert hand.sees(title) and hand.sees("Local copy of: AAA Childhood Hearing Screening Guidelines, 2011")


def test_a_copy_from_the_choice_of_the_protocol_to_the_tone_walk(lead, tmp_path, visit):
    from demo.window import Hand
    from fieldapp.services.desk import Desk
    from fieldapp.services.station import Station

    hand = lead
    copy_of_the_default(hand)
    line(hand, "levels")
    hand.touch(key(hand, "+", "4000 Hz"))
    hand.touch(key(hand, "+", "4000 Hz"))
    assert hand.sees("1000 Hz: 20, 2000 Hz: 20, 4000 Hz: 30 dB HL") and hand.sees("✎ set locally")
    line(hand, "rescreen_days")
    for _ in range(5):  # first day 14 + 35, last day 42
        hand.touch(key(hand, "+7", "First day"))
    assert hand.sees("“When to rescreen” ends before it starts")
    line(hand, "presentations")
    hand.touch("Save the copy")
    assert hand.sees("Not saved yet") and hand.sees("Everything you changed is still here")
    hand.touch("Understood")
    assert hand.front.presenter.field == "rescreen_days"
    for _ in range(3):
        hand.touch(key(hand, "–7", "First day"))
    assert not hand.sees("ends before it starts")
    hand.touch("Save the copy")
    assert hand.sees("The copy is saved")
    hand.touch("Understood")
    hand.touch("Choose this one")
    assert hand.screen == "prepare" and hand.sees("Tern Hollow district (local copy of: AAA Childhood")
    assert hand.sees("Tern Hollow district (made here)") and hand.sees("Set locally: ")
    hand.touch("Next")
    hand.touch("Next")
    hand.front._part.ids.passphrase.take_focus()
    hand.type(PASSPHRASE)
    hand.touch("Make the book")
    hand.until(lambda: hand.screen == "hand_out")
    hand.close()

    # The copy is changed again and deleted: the visit keeps the protocol that it was made with.
    own = hand.session.own_protocols
    assert own.names() == ["tern-hollow-district"]
    own.delete("tern-hollow-district")
    desk = Desk.open(tmp_path / "new.book", PASSPHRASE, clock=visit.clock)
    assert desk.protocol.rescreen_days == (28, 42)
    assert desk.protocol.mark_of("levels") == "set locally"
    assert desk.protocol.copy_of.changed == ("levels", "rescreen_days")
    desk.hand_out("A", tmp_path / "A.handout", PASSPHRASE, cost=CHEAP)
    desk.close()
    Station.receive(
        tmp_path / "A.handout", tmp_path / "a.store", PASSPHRASE, clock=visit.clock, cost=CHEAP
    ).close()

    hand = Hand(visit.session(tmp_path / "a.store", exchange=tmp_path))
    hand.unlock(PASSPHRASE, "MK")
    assert hand.sees("Tern Hollow district (local copy of: AAA Childhood Hearing Screening Guidelines, 2011)")
    hand.session.station.check_readiness(
        {
            "audiometer": "AM-04",
            "earphones": "EP-04",
            "calibrated": "2026-08-20",
            "listening": {"right": [1000, 2000, 4000], "left": [1000, 2000, 4000]},
            "own_thresholds": {ear: {"1000": 5, "2000": 5, "4000": 5} for ear in ("right", "left")},
        }
    )
    station = hand.session.station
    station.begin(station.standings()[0].child)
    hand.session.go("walk")
    hand.frames()
    levels = []
    for _ in range(3):
        hand.session.station.answer(True)
        hand.session.go("walk")
        hand.frames()
        levels += [
            int(word.split()[0]) for word in hand.words() if word.endswith("dB HL") and word[0].isdigit()
        ]
    hand.close()
    assert 20 in levels and 30 in levels, levels


def test_turning_the_tablet_or_going_back_loses_no_change(lead):
    hand = lead
    copy_of_the_default(hand)
    line(hand, "presentations")
    hand.touch(key(hand, "–", "Times"))
    hand.app.restyle()  # as when the window changes its size
    hand.frames()
    assert hand.screen == "protocol" and hand.sees("at most 3, then no response")
    hand.touch("Back")
    assert hand.sees("Leave without saving?")
    hand.touch("Go on changing")
    assert hand.sees("at most 3, then no response")
    hand.touch("Back")
    hand.touch("Leave without saving")
    hand.touch("Back")
    assert hand.screen == "prepare" and hand.sees("Source looked at")
    hand.touch(hand.pressable("School and days"))
    assert hand.front.presenter.school == "Tern Hollow Primary"


def test_by_keys_alone(lead):
    hand = lead
    copy_of_the_default(hand)
    hand.front._rows["presentations"].press()
    hand.frames()
    minus = key(hand, "–", "Times")
    for _ in range(80):
        hand.key("tab")
        if minus.focused:
            break
    assert minus.focused
    hand.key("enter")
    assert minus.focused, "the ring stays where it was pressed"
    hand.key("space")
    assert hand.sees("at most 2, then no response")
    hand.key("escape")
    assert hand.sees("Leave without saving?")
    hand.key("escape")
    assert hand.screen == "protocol" and hand.sees("at most 2, then no response")


def test_it_is_laid_out_well_while_every_field_is_open(lead):
    hand = lead
    copy_of_the_default(hand, "A name of the greatest length that may be typed for a copy")
    for name in list(hand.front._rows):
        hand.front.choose(name)
        hand.frames()
        assert hand.faults() == [], name


def test_the_chosen_protocol_is_in_sight_however_low_it_stands_in_the_list(lead):
    def in_sight():
        tile = next(tile for tile in lead.front._part.ids.protocols.children if tile.chosen)
        scroll = tile.parent.parent
        foot, ceiling = scroll.to_window(*scroll.pos)[1], scroll.to_window(0, scroll.top)[1]
        return foot <= tile.to_window(*tile.pos)[1] and tile.to_window(0, tile.top)[1] <= ceiling

    lead.front.presenter.choose_protocol("washington-246-760")
    lead.frames(6)
    assert in_sight()
    lead.touch(lead.front._part.ids.see)
    lead.touch("Choose this one")
    lead.frames(6)
    assert lead.screen == "prepare" and in_sight()
