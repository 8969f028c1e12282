"""Talks that end before their time at no fault of the caller: a full disk, a closed door, news that is not true."""

from __future__ import annotations

import threading

from shared.errors import Damaged
from sync.handout import pack_key
from sync.nearby.frames import Kind
from sync.nearby.line import Patience
from sync.nearby.session import TABLET, Session
from sync.nearby.troubles import Told
from tests.services.nearby.callers import (
    calling,
    hello_of,
    still_works,
    up_to_batches,
)

HASTY = Patience(handshake=0.6, idle=0.6, message=1.2)


def test_news_with_a_wrong_signature_is_not_taken(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    b.walk_script(b.find("S-1"), "++++++")
    with room(visit.desk) as open_room:
        open_room.send(b)
        before = len(a.ledger.register)
        a.ledger.about["lead_signing"] = pack_key(bytes(32))
        (came,) = open_room.send(a)
        assert isinstance(came, Damaged) and "signature" in came.happened
        assert len(a.ledger.register) == before
        open_room.work_until(lambda: any(each.problem for each in open_room.told))
    # What A had brought before is in the book all the same.
    assert {device.name: device.missing for device in visit.desk.devices()} == {"A": (), "B": ()}


def test_a_full_disk_at_the_lead_is_told_and_kept_apart(visit, room, monkeypatch):
    from shared.errors import WriteRefused

    station = visit.tablet("A")

    def full(*_args: object) -> None:
        raise WriteRefused("The disk is full.")

    with room(visit.desk) as open_room:
        with monkeypatch.context() as patch:
            patch.setattr(visit.desk, "take_in", full)
            (came,) = open_room.send(station)
        assert isinstance(came, Told) and "disk" in came.happened
        still_works(open_room, station)


def test_closing_the_listener_says_goodbye(visit, room):
    station = visit.tablet("A")
    with room(visit.desk) as open_room:
        line = calling(open_room, station)
        opened = threading.Thread(target=lambda: line.send(Session(TABLET).say(hello_of(station))))
        opened.start()
        open_room.work_until(lambda: open_room.told)
        opened.join()
    data = b"".join(iter(lambda: line.receive(line.deadline()), b""))
    assert data.startswith(bytes([Kind.WELCOME])) and b"stopped" in data
    line.close()


def test_a_talk_that_died_says_nothing_over_a_newer_one_of_the_same_tablet(visit, room):
    station = visit.tablet("A")
    with room(visit.desk, patience=HASTY) as open_room:
        dead = calling(open_room, station)
        opened = threading.Thread(target=lambda: up_to_batches(dead, station))
        opened.start()
        open_room.work_until(lambda: open_room.told and not opened.is_alive())
        still_works(open_room, station)
        open_room.work_until(lambda: not any(t.name == "talk" for t in threading.enumerate()))
        (heard,) = open_room.listener.heard
        assert (heard.state, heard.problem) == ("done", None)
        dead.close()


def test_a_lead_that_closes_calls_what_was_under_way_broken_off(visit, room):
    station = visit.tablet("A")
    with room(visit.desk) as open_room:
        line = calling(open_room, station)
        opened = threading.Thread(target=lambda: up_to_batches(line, station))
        opened.start()
        open_room.work_until(lambda: open_room.told and not opened.is_alive())
    assert [each.state for each in open_room.listener.heard] == ["broken off"]
    line.close()
