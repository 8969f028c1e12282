"""Sending and listening as a person meets them: who is in, whether the tablet may be put down, what Stop does."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fieldapp.screens.listen.presenter import TICKS_A_LOOK, TICKS_A_NETWORK, ListenPresenter
from fieldapp.screens.send.presenter import SendPresenter
from fieldapp.services.nearby import Address, Sending, Sent, TabletHeard
from fieldapp.services.nearby.address import qr_matrix
from sync.nearby.troubles import cut, stopped
from tests.screens.lead import Lead
from tests.screens.room import Room


class Ticking:
    """``Session.every``: what was asked for is done when the test says so."""

    def __init__(self, session) -> None:
        self.acts = []
        session.every = self

    def __call__(self, _seconds, act):
        self.acts.append(act)
        return self.acts.clear

    def go_on(self, ticks: int = 1) -> None:
        for _ in range(ticks):
            for act in list(self.acts):
                act()


# -- the lead's screen ------------------------------------------------------------------------------


class FakeListener:
    phrase = "amber-otter-cedar"

    def __init__(self, _desk, *, tell) -> None:
        self.tell = tell
        self.addresses = ()
        self.heard = []

    def start(self) -> None:
        pass

    def work(self) -> bool:
        return False

    def qr(self):
        return qr_matrix(self.addresses[0].qr_text)

    def close(self) -> None:
        pass

    def says(self, one: TabletHeard) -> None:
        self.heard = [*(each for each in self.heard if each.device != one.device), one]
        self.tell(one)


@pytest.fixture
def listening(visit):
    """The screen of a lead with handouts for B and C, and for D, which is set aside."""
    lead = Lead(visit)
    for name in ("B", "D"):
        lead.desk.hand_out(name, visit.folder / f"{name}.handout", "seven quiet bells ring")
    from fieldapp.services.closing import Aside

    lead.desk.closing.set_aside("D", Aside.UNUSED)
    lead.ticking = Ticking(lead.session)
    lead.session.listener = FakeListener
    lead.shown = lead.show(ListenPresenter)
    lead.looks = 0

    def look() -> None:
        lead.looks += 1

    lead.shown.changed = look
    yield lead
    lead.desk.close()


def test_the_lead_sees_who_is_in_and_who_is_not_yet(listening):
    view = listening.shown.view
    assert view().sum == "0 of 2 have sent everything"
    assert view().tablets == (
        ("Tablet\u00a0B", "has not sent yet"),
        ("Tablet\u00a0C", "has not sent yet"),
    )
    listener = listening.shown._listener
    whole = TabletHeard("B", "b1", "done", new=3, held=40, highest=40)
    listener.says(whole)
    assert view().sum == "1 of 2 has sent everything"
    assert [name[-1] for name, _ in view().tablets] == ["C", "B"]
    cut_off = TabletHeard("C", "c1", "broken off", held=7, highest=20, problem=cut())
    listener.says(cut_off)
    assert view().sum == "1 of 2 has sent everything"
    # What is there already is said beside what went wrong.
    assert view().tablets[0][1].startswith("broken off · 7 of 20 records are here. The connection was cut")
    listener.says(replace(cut_off, state="done", held=19, problem=None))
    assert view().tablets[0][1] == "19 of 20 records are here: let it send again"
    listener.says(replace(cut_off, state="done", held=20, problem=None))
    assert view().sum == "✓ All 2 have sent everything"
    # Two devices opened from one handout: the tablet is in when both are.
    listener.says(replace(whole, device="b2", state="sending", held=1))
    assert view().sum == "1 of 2 has sent everything"


def test_what_was_gathered_in_the_morning_does_not_count_as_in(listening):
    listening.day()
    again = listening.show(ListenPresenter)
    assert again.view().sum == "0 of 2 have sent everything"
    assert again.view().tablets[1][1].startswith("not yet this time · last gathered")


def test_a_hotspot_that_is_switched_on_later_appears(listening):
    assert listening.shown.view().address == "No local network" and listening.shown.qr() == ()
    listening.shown._listener.addresses = (Address("192.168.43.1", phrase="amber-otter-cedar"),)
    listening.ticking.go_on(TICKS_A_NETWORK + TICKS_A_LOOK)
    assert listening.looks == 1
    assert listening.shown.view().address == "192.168.43.1"
    assert listening.shown.qr() == qr_matrix("192.168.43.1:41877 amber-otter-cedar")


def test_many_batches_do_not_make_the_screen_draw_for_each(listening):
    listening.ticking.go_on(TICKS_A_LOOK)
    before = listening.looks
    for held in range(100):
        listening.shown._listener.says(TabletHeard("B", "b1", "sending", held=held, highest=100))
    listening.ticking.go_on(TICKS_A_LOOK)
    assert listening.looks == before + 1


# -- the tablet's screen ----------------------------------------------------------------------------


class FakeSender:
    """A talk that goes as the test says; ``stop`` alone does not end its thread, as where a line is stuck."""

    def __init__(self, _station, _address) -> None:
        self.sending = Sending()
        self.sent = None
        self.going_on = True

    def start(self) -> None:
        pass

    def work(self) -> bool:
        return self.going_on

    def stop(self) -> None:
        pass

    def result(self) -> Sent:
        if self.sent is None:
            raise stopped()
        return self.sent


@pytest.fixture
def sending():
    room = Room()
    room.session.sender = FakeSender
    room.ticking = Ticking(room.session)
    room.shown = SendPresenter(room.session)
    room.shown.enter()
    for sign in "192.168.43.1":
        room.shown.press(sign)
    room.shown.send()
    return room


def test_stop_is_felt_at_once_and_sending_again_is_possible(sending):
    sending.shown.stop()
    assert not sending.shown.busy and "Stopped." in sending.shown.wrong
    assert sending.ticking.acts == []
    sending.shown.send()
    assert sending.shown.busy and not sending.shown.wrong


def test_a_long_sending_does_not_lock_the_tablet_while_it_gets_on(sending):
    idle = sending.session.settings.lock_minutes * 60 * 0.7
    for sent in range(4):
        sending.clock.wait(idle)
        sending.shown._sender.sending = Sending("sending", sent=sent, total=9)
        sending.ticking.go_on()
    assert not sending.session.screen_lock.locked
    # One that no longer gets on is no reason to leave the names unlocked.
    sending.clock.wait(idle)
    sending.ticking.go_on()
    sending.clock.wait(idle)
    assert sending.session.screen_lock.locked


def test_the_screener_reads_that_the_tablet_may_be_put_down(sending):
    sender = sending.shown._sender
    sender.sent, sender.going_on = Sent(sent=20, new=20, held=20, highest=20, told=3), False
    sending.ticking.go_on()
    assert sending.shown.done
    assert sending.shown.said == (
        "✓ Done: the lead has all 20 records. You may put the tablet down. 3 records of other tablets came back."
    )


def test_what_is_not_whole_is_not_called_done(sending):
    sender = sending.shown._sender
    sender.sent, sender.going_on = Sent(sent=20, new=20, held=19, highest=20, told=0), False
    sending.ticking.go_on()
    assert not sending.shown.done and "put the tablet down" not in sending.shown.said
