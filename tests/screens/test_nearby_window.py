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
    ticks = []
    tablet.every = lambda _seconds, act: (ticks.append(act), ticks.clear)[1]
    send = SendPresenter(tablet)
    send.enter()
    assert send.phrase() in hand.words()
    for sign in address:
        send.press(sign)
    send.send()

    def turn():
        for act in list(ticks):
            act()
        return not send.busy

    hand.until(turn)
    assert send.done, send.wrong
    hand.until(lambda: hand.sees("Tablet C"))
    assert any(words.startswith("done") for words in hand.words())
    station.close()
    hand.close()


def _local_listener(desk, **more):
    from fieldapp.services.nearby.listener import Listener

    return Listener(desk, address="127.0.0.1", port=0, **more)
