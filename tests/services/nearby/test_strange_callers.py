"""Callers that do not belong, or say they are another, or speak another version: each gets its own words."""

from __future__ import annotations

import socket
import threading
from datetime import timedelta

import pytest

from fieldapp.services.nearby import Listener, Sender
from shared.errors import ForeignFile, NewerVersion, QuietbellError, Refused
from sync.handout import pack_certificate, pack_key, unpack_certificate
from sync.nearby import authority as authorities
from sync.nearby.authority import Authority, Role
from sync.nearby.line import Patience, answer, context_for
from sync.nearby.messages import Welcome
from sync.nearby.session import LEAD, Session
from sync.nearby.troubles import Cut, Told, UnknownTablet
from tests.services.nearby.callers import (
    broken_off,
    calling_off,
    greet_as,
    hello_of,
    identity_of,
    still_works,
)


def test_nobody_listens(visit, room):
    station = visit.tablet("A")
    with room(visit.desk) as open_room:
        address = open_room.address
    with pytest.raises(Cut, match="not listening"):
        Sender(station, address, attempts=1).run()
    with pytest.raises(Cut, match="no device of that name"):
        Sender(station, "nobody.invalid", attempts=1).run()


def test_two_listeners_on_one_port_are_refused(visit, room):
    with room(visit.desk) as open_room, pytest.raises(Refused, match="cannot listen"):
        Listener(visit.desk, address="127.0.0.1", port=open_room.address.port).start()
    with pytest.raises(Refused, match="cannot listen"):
        Listener(visit.desk, address="198.51.100.7", port=0).start()


def test_a_tablet_of_another_visit(make_visit, room):
    ours, theirs = make_visit(), make_visit()
    stranger = theirs.tablet("A")
    before = len(ours.desk.ledger.register)
    with room(ours.desk) as open_room:
        (came,) = open_room.send(stranger)
        assert isinstance(came, ForeignFile) and "this visit" in str(came)
        open_room.work_until(lambda: open_room.listener.turned_away)
        assert len(ours.desk.ledger.register) == before
        still_works(open_room, ours.tablet("A"))
        # Had the QR code been read, it would not even have called.
        with pytest.raises(ForeignFile, match="check phrase"):
            Sender(stranger, open_room.address)


def test_a_caller_that_trusts_us_but_has_a_foreign_certificate(make_visit, room):
    ours, theirs = make_visit(), make_visit()
    station, stranger = ours.tablet("A"), theirs.tablet("A")
    about = station.ledger.about
    forged = Authority.make(about["visit"], ours.clock.now()).issue(
        Role.TABLET, about["tablet_id"], ours.clock.now()
    )
    own = identity_of(station)
    with room(ours.desk) as open_room:
        for identity in (identity_of(stranger), forged):
            about["certificate"] = pack_certificate(identity.certificate)
            about["certificate_key"] = pack_key(identity.key)
            (came,) = open_room.send(station)
            assert isinstance(came, ForeignFile), came
        about["certificate"], about["certificate_key"] = pack_certificate(own.certificate), pack_key(own.key)
        still_works(open_room, station)
    assert all(isinstance(each.problem, ForeignFile) for each in open_room.told if not each.tablet)


def test_a_certificate_out_of_date_says_so_on_both_sides(visit, room, monkeypatch):
    with monkeypatch.context() as patch:
        patch.setattr(authorities, "CERTIFICATE_LASTS", timedelta(days=-400))
        station = visit.tablet("A")
    with room(visit.desk) as open_room:
        (came,) = open_room.send(station)
    assert isinstance(came, Told) and "out of date" in came.happened and "clock" in came.happened
    (told,) = [each.problem for each in open_room.told]
    assert "tablet's certificate is out of date" in told.happened and "2026-10-14" in told.happened
    fresh = visit.tablet("B")
    with monkeypatch.context() as patch:
        patch.setattr(authorities, "CERTIFICATE_LASTS", timedelta(days=-400))
        with room(visit.desk) as open_room:
            (came,) = open_room.send(fresh)
    assert isinstance(came, Refused) and "lead's certificate is out of date" in came.happened
    # A tablet whose clock is years ahead: the lead is not told that it is a stranger.
    (told,) = [each.problem for each in open_room.told]
    assert not isinstance(told, ForeignFile) and "clock" in told.happened


def test_a_tablet_cannot_pass_for_the_lead_nor_the_lead_for_a_tablet(visit, room):
    station, victim = visit.tablet("A"), visit.tablet("B")
    authority = unpack_certificate(station.ledger.about["authority"])
    context = context_for(Role.LEAD, authority, identity_of(station))
    with socket.create_server(("127.0.0.1", 0)) as false_lead:

        def serve() -> None:
            with pytest.raises(QuietbellError):
                answer(false_lead.accept()[0], context, Patience(), visit.clock.now())

        thread = threading.Thread(target=serve)
        thread.start()
        with pytest.raises(ForeignFile):
            Sender(victim, f"127.0.0.1:{false_lead.getsockname()[1]}", attempts=1).run()
        thread.join()
    as_lead = visit.desk.authority.issue(Role.LEAD, visit.desk.ledger.device, visit.clock.now())
    with room(visit.desk) as open_room:

        def act() -> None:
            with calling_off(open_room, station, as_lead) as line:
                line.receive(line.deadline())

        assert isinstance(broken_off(open_room, act), ForeignFile)
        still_works(open_room, station)


def test_a_tablet_that_names_another(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    with room(visit.desk) as open_room:
        problem = broken_off(open_room, lambda: greet_as(open_room, a, hello_of(b)))
        assert isinstance(problem, ForeignFile)
        still_works(open_room, a)


def test_a_tablet_that_gives_itself_out_for_anothers_device(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    with room(visit.desk) as open_room:
        still_works(open_room, b)
        as_b = hello_of(a, device=b.ledger.device)
        assert isinstance(broken_off(open_room, lambda: greet_as(open_room, a, as_b)), UnknownTablet)
        still_works(open_room, a)
    assert {device.name: device.device for device in visit.desk.devices()} == {
        "A": a.ledger.device,
        "B": b.ledger.device,
    }


def test_a_tablet_that_the_book_does_not_know(visit, room):
    station = visit.tablet("A")
    visit.desk.ledger.tell(tablets=[])
    with room(visit.desk) as open_room:
        (came,) = open_room.send(station)
    assert isinstance(came, ForeignFile) and "never made a handout" in came.happened
    assert isinstance(open_room.told[-1].problem, UnknownTablet)


def test_a_newer_tablet(visit, room, monkeypatch):
    station = visit.tablet("A")
    with room(visit.desk) as open_room:
        monkeypatch.setattr("fieldapp.services.nearby.store.VERSION", 2)
        (came,) = open_room.send(station)
        assert isinstance(came, Told) and "older Quietbell" in came.happened
        (told,) = [each.problem for each in open_room.told if each.problem]
        assert isinstance(told, NewerVersion)
        monkeypatch.undo()
        still_works(open_room, station)


def test_a_newer_lead(visit):
    station = visit.tablet("A")
    identity = visit.desk.authority.issue(Role.LEAD, visit.desk.ledger.device, visit.clock.now())
    context = context_for(Role.LEAD, visit.desk.authority.certificate, identity)
    with socket.create_server(("127.0.0.1", 0)) as newer_lead:

        def serve() -> None:
            line = answer(newer_lead.accept()[0], context, Patience(), visit.clock.now())
            session = Session(LEAD)
            while session.next() is None:
                session.feed(line.receive(line.deadline()))
            line.send(session.say(Welcome(2)))
            line.hang_up()

        thread = threading.Thread(target=serve)
        thread.start()
        with pytest.raises(NewerVersion):
            Sender(station, f"127.0.0.1:{newer_lead.getsockname()[1]}", attempts=1).run()
        thread.join()
