"""A tablet's screen sends, the lead's screen listens: two sessions, one window after the other cannot be, so the
tablet's side is driven by its presenter while the lead's screen is shown."""

from __future__ import annotations

import pytest

from tests.facts import PASSPHRASE

pytestmark = pytest.mark.window


def test_a_tablet_sends_and_the_leads_screen_shows_it(visit_today):
    visit = visit_today
    from demo.window import Hand
    from fieldapp.screens.send.presenter import SendPresenter
    from fieldapp.screens.translation import Translator

    lead = visit.session(visit.book)
    lead.listener = _local_listener
    hand = Hand(lead)
    hand.unlock(PASSPHRASE, "LD")
    hand.touch("Gather returns")
    hand.touch("Over the network")
    assert hand.screen == "listen"
    address = str(hand.front.presenter._listener.addresses[0])
    assert hand.sees(address) and hand.front.presenter.qr()

    station = visit.open(str(visit.store), PASSPHRASE)
    station.sign_in("MK")
    tablet = visit.session()
    tablet.station = station
    tablet.t = Translator("es")  # another language than the lead's: the words to compare are the same
    ticks = []
    tablet.every = lambda _seconds, act: (ticks.append(act), ticks.clear)[1]
    send = SendPresenter(tablet)
    send.enter()
    assert send.phrase() in hand.words() and len(send.phrase().split()) == 3
    for sign in address:
        send.press(sign)
    send.send()

    def turn():
        for act in list(ticks):
            act()
        return not send.busy

    hand.until(turn)
    assert send.done, send.wrong
    hand.until(lambda: any("Tablet C" in words and "✓" in words for words in hand.words()))
    station.close()
    hand.close()


def test_a_port_can_be_typed_on_the_pad(tablet_sending):
    send = tablet_sending
    for sign in "192.168.4.1":
        assert sign.isdigit() or send.parting() == sign
        send.press(sign)
    assert send.parting() == ":"
    for sign in ".5000":  # the key of the dot is the colon's now
        send.press(sign)
    assert send.typed == "192.168.4.1:5000"


@pytest.fixture
def tablet_sending():
    from fieldapp.screens.send.presenter import SendPresenter
    from tests.screens.room import Room

    send = SendPresenter(Room().session)
    send.enter()
    return send


def _local_listener(desk, **more):
    from fieldapp.services.nearby.listener import Listener

    return Listener(desk, address="127.0.0.1", port=0, **more)
