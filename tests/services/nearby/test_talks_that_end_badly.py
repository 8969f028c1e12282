"""Talks that end before their time at no fault of the caller: a full disk, a closed door, news that is not true."""

from __future__ import annotations

import socket
import threading
import time

import pytest

from fieldapp.services.nearby import Sender
from fieldapp.services.nearby.bench import Bench
from shared.errors import Damaged, QuietbellError, WriteRefused
from shared.records.standing import Person
from sync.handout import pack_key
from sync.nearby.frames import Kind
from sync.nearby.line import Line, Patience
from sync.nearby.session import TABLET, Session
from sync.nearby.troubles import Cut, Stopped, Told, cut
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
        assert "lead has all records of this tablet" in came.kept
        assert len(a.ledger.register) == before
        open_room.work_until(lambda: any(each.problem for each in open_room.told))
    # What A had brought before is in the book all the same.
    assert {device.name: device.missing for device in visit.desk.devices()} == {"A": (), "B": ()}


def test_a_full_disk_at_the_lead_is_told_and_kept_apart(visit, room, monkeypatch):
    station = visit.tablet("A")

    def full(*_args: object) -> None:
        raise WriteRefused("The disk is full.")

    with room(visit.desk) as open_room:
        with monkeypatch.context() as patch:
            patch.setattr(visit.desk, "take_in", full)
            (came,) = open_room.send(station)
        assert isinstance(came, Told) and "disk" in came.happened
        still_works(open_room, station)


def test_a_disk_that_is_full_at_the_end_puts_joining_off_to_the_next_time(visit, room, monkeypatch):
    station = visit.tablet("A", classes=["3B"])
    twice = station.add_child(Person("Cy", "Cedar", "2017-01-30", grade="4", class_name="4A"))

    def full() -> None:
        raise WriteRefused("The disk is full.")

    with monkeypatch.context() as patch:
        patch.setattr(visit.desk, "join_automatically", full)
        with room(visit.desk) as open_room:
            still_works(open_room, station)
            assert open_room.listener.close().joined == 0
    # A lead that was killed before it could join is no other case; nothing new comes this time.
    with room(visit.desk) as open_room:
        still_works(open_room, station)
    assert twice in visit.desk.ledger.register.records_of(visit.child("S-3"))


def test_what_a_talk_says_last_counts_although_the_lead_has_closed():
    """A talk that is done says so with a job that nobody waits for; the screen may be left before its next tick."""
    bench, done = Bench(1.0), []
    bench.leave(lambda: done.append("before"))
    bench.close()
    bench.leave(lambda: done.append("in the goodbye"))
    bench.close()
    assert done == ["before", "in the goodbye"]


def test_whoever_leaves_the_leads_screen_does_not_wait_for_strangers_at_the_door(visit, room):
    with room(visit.desk) as open_room:
        where = (open_room.address.host, open_room.address.port)
        strangers = [socket.create_connection(where) for _ in range(3)]
        open_room.work_until(lambda: len(open_room.listener._door._callers) == 3)
        begun = time.monotonic()
        open_room.listener.close()
        assert time.monotonic() - begun < 1.0
        for stranger in strangers:
            stranger.close()


def test_who_stops_does_not_wait_for_one_who_never_reads():
    class Full:
        def settimeout(self, seconds: float) -> None:
            pass

        def send(self, data: bytes) -> int:
            raise TimeoutError

    with pytest.raises(Stopped):
        Line(Full(), HASTY, lambda: True).send(b"more than fits")


def test_ctrl_c_while_the_book_writes_ends_the_lead_and_not_the_talk_alone():
    bench, came = Bench(5.0), []

    def interrupted() -> None:
        raise KeyboardInterrupt

    def ask() -> None:
        try:
            bench.do(interrupted)
        except QuietbellError as error:
            came.append(error)

    thread = threading.Thread(target=ask)
    thread.start()
    with pytest.raises(KeyboardInterrupt):
        while True:
            bench.work(0.1)
    thread.join()
    assert isinstance(came[0], Stopped)


@pytest.mark.parametrize("reached", [False, True])
def test_news_that_gets_across_piece_by_piece_is_progress(visit, monkeypatch, reached):
    """Over a line that is cut again and again each call brings some; three in a row that bring none are too many, or
    five where the lead was there before."""
    sender = Sender(visit.tablet("A"), "127.0.0.1:9", attempts=3)
    monkeypatch.setattr(sender._stopping, "wait", lambda _seconds: False)
    brought = iter([5, 5, 0, 5, 5, 0, 0, 0, 0, 0])
    calls = []

    def talk() -> None:
        calls.append(1)
        sender._reached = reached
        sender._told += next(brought)
        raise cut()

    monkeypatch.setattr(sender, "_talk", talk)
    with pytest.raises(Cut):
        sender._try_again_and_again()
    assert len(calls) == (10 if reached else 8)


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
