"""Callers that are rude or broken: garbage, stalls, floods, endless bodies. Each costs little and disturbs no other."""

from __future__ import annotations

import os
import socket
import threading
import tracemalloc

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fieldapp.services.nearby.door import MOST_CALLERS, MOST_WAITING, MOST_WAITING_FROM_ONE
from shared.errors import Damaged
from sync.handout import unpack_key
from sync.nearby.frames import MOST_BATCH, Kind, frame
from sync.nearby.line import Patience
from sync.nearby.messages import Batch
from sync.nearby.session import TABLET, Session
from sync.nearby.troubles import Code, Stalled, Told, Unruly
from sync.sealed import FileKind, seal
from tests.services.nearby.callers import (
    broken_off,
    calling,
    calling_off,
    greet_as,
    hello_of,
    still_works,
    up_to_batches,
)

HASTY = Patience(handshake=0.6, idle=0.6, message=1.2)


@pytest.mark.parametrize(
    "garbage",
    [b"GET / HTTP/1.1\r\n\r\n", bytes(5000), b"\x16\x03\x01\xff\xff" + bytes(100), b""],
    ids=["http", "zeros", "half a handshake", "nothing"],
)
def test_garbage_instead_of_a_handshake(visit, room, garbage):
    station = visit.tablet("A")
    with room(visit.desk, patience=HASTY) as open_room:
        caller = socket.create_connection((open_room.address.host, open_room.address.port))
        caller.sendall(garbage)
        if garbage:
            caller.shutdown(socket.SHUT_WR)
        open_room.work_until(lambda: open_room.listener.turned_away)
        caller.close()
        still_works(open_room, station)


@pytest.mark.parametrize(
    "said",
    [
        os.urandom(4000),
        bytes([99]) + bytes(4),
        frame(Kind.HELLO, b"[]"),
        frame(Kind.HELLO, b'{"version": true}'),
        frame(Kind.HELLO, b"[" * 4000),
        frame(Kind.BATCH, b"too early"),
        frame(Kind.ACK, b'{"batch":1,"new":1}'),
        bytes([Kind.HELLO]) + b"\xff\xff\xff\xff",
        bytes([Kind.ACCOUNT]) + (MOST_BATCH).to_bytes(4, "big"),
    ],
    ids=[
        "random",
        "unknown kind",
        "no object",
        "no number",
        "nested",
        "batch first",
        "ack first",
        "4 GB hello",
        "account too large",
    ],
)
def test_garbage_from_a_true_tablet(visit, room, said):
    station = visit.tablet("A")
    with room(visit.desk) as open_room:

        def act() -> None:
            with calling_off(open_room, station) as line:
                line.send(said)
                while line.receive(line.deadline()):
                    pass

        assert isinstance(broken_off(open_room, act), Unruly)
        still_works(open_room, station)


def endless_batches(line, session, station) -> None:
    while True:
        line.send(bytes([Kind.BATCH]) + MOST_BATCH.to_bytes(4, "big") + os.urandom(MOST_BATCH))


def a_batch_larger_than_allowed(line, session, station) -> None:
    line.send(bytes([Kind.BATCH]) + (MOST_BATCH + 1).to_bytes(4, "big"))
    while True:
        line.send(bytes(65536))


def a_bomb(line, session, station) -> None:
    about = station.ledger.about
    line.send(session.say(Batch(sealed(station, [{"visit": about["visit"], "note": "0" * 40_000_000}]))))


def altered(line, session, station) -> None:
    data = bytearray(sealed(station, [{"visit": "x"}]))
    data[-1] ^= 1
    line.send(session.say(Batch(bytes(data))))


def another_tablets_signature(line, session, station) -> None:
    line.send(session.say(Batch(sealed(station, [{"visit": "x"}], maker=Ed25519PrivateKey.generate()))))


def an_entry_of_the_books_own(line, session, station) -> None:
    """Were it taken, the book's next entry would be numbered beyond all bounds, and no tablet could read its news."""
    about, mine = station.ledger.about, station.ledger.register.entries()[-1]
    forged = {**mine.to_document(), "id": f"9999999@{about['book_device']}"}
    names = ("visit", "tablet_id", "handout_made_at", "received_at")
    first = {name: about[name] for name in names} | {"made_at": about["received_at"], "highest": 1}
    line.send(session.say(Batch(sealed(station, [{**first, "device": station.ledger.device}, forged]))))


def an_end_too_early(line, session, station) -> None:
    line.send(frame(Kind.END, b'{"batches":7,"held":0}'))


def sealed(station, lines, maker=None) -> bytes:
    about = station.ledger.about
    return seal(
        FileKind.RETURN,
        {"visit": about["visit"], "tablet": about["tablet_id"]},
        lines,
        receiver=unpack_key(about["lead_sealing"]),
        maker=maker or Ed25519PrivateKey.from_private_bytes(unpack_key(about["signing"])),
    )


@pytest.mark.parametrize(
    "misdeed",
    [
        endless_batches,
        a_batch_larger_than_allowed,
        a_bomb,
        altered,
        another_tablets_signature,
        an_entry_of_the_books_own,
        an_end_too_early,
    ],
)
def test_misdeeds_among_batches_leave_the_book_as_it_was(visit, room, misdeed):
    station = visit.tablet("A")
    before = len(visit.desk.ledger.register)
    with room(visit.desk) as open_room:

        def act() -> None:
            with calling_off(open_room, station) as line:
                misdeed(line, up_to_batches(line, station), station)
                while line.receive(line.deadline()):
                    pass

        tracemalloc.start()
        problem = broken_off(open_room, act)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        assert isinstance(problem, Damaged)
        # The bomb itself is made in this process: a copy as text, as bytes, and what is being packed.
        assert peak < (240 if misdeed is a_bomb else 64) * 1024 * 1024
        assert len(visit.desk.ledger.register) == before
        still_works(open_room, station)


def a_stall_in_the_handshake(room, station) -> None:
    caller = socket.create_connection((room.address.host, room.address.port))
    caller.sendall(b"\x16\x03\x01\x01\x00\x01")
    while caller.recv(100):
        pass


def a_stall_after_the_handshake(room, station) -> None:
    with calling_off(room, station) as line:
        while line.receive(line.deadline()):
            pass


def a_stall_in_a_message(room, station) -> None:
    with calling_off(room, station) as line:
        line.send(Session(TABLET).say(hello_of(station))[:20])
        while line.receive(line.deadline()):
            pass


def a_drip(room, station) -> None:
    with calling_off(room, station) as line:
        data = Session(TABLET).say(hello_of(station))
        for place in range(len(data)):
            line.send(data[place : place + 1])
            threading.Event().wait(0.1)


def one_who_never_reads(room, station) -> None:
    with calling_off(room, station) as line:
        up_to_batches(line, station)
        threading.Event().wait(2.0)


@pytest.mark.parametrize(
    "stall",
    [
        a_stall_in_the_handshake,
        a_stall_after_the_handshake,
        a_stall_in_a_message,
        a_drip,
        one_who_never_reads,
    ],
)
def test_a_stall_ends_and_others_go_on_meanwhile(visit, room, stall):
    slow, quick = visit.tablet("A"), visit.tablet("B")
    with room(visit.desk, patience=HASTY) as open_room:
        thread = threading.Thread(target=stall, args=(open_room, slow))
        thread.start()
        still_works(open_room, quick)
        open_room.work_until(lambda: any(each.problem for each in open_room.told))
        thread.join()
        problem = next(each.problem for each in open_room.told if each.problem)
        assert isinstance(problem, Stalled)


def test_a_crowd_at_the_door_keeps_no_tablet_out(visit, room):
    station = visit.tablet("A")
    with room(visit.desk) as open_room:
        where = (open_room.address.host, open_room.address.port)
        crowd = [socket.create_connection(where) for _ in range(150)]
        assert sum(thread.name == "talk" for thread in threading.enumerate()) <= MOST_CALLERS
        open_room.work_until(
            lambda: sum(thread.name == "talk" for thread in threading.enumerate()) <= MOST_WAITING_FROM_ONE
        )
        (sent,) = open_room.send(station, attempts=3)
        assert sent.complete
        for caller in crowd:
            caller.close()


def test_a_crowd_of_some_addresses_does_not_push_out_one_who_waits_alone(visit, room):
    with room(visit.desk, patience=Patience()) as open_room:
        where = (open_room.address.host, open_room.address.port)
        alone = socket.create_connection(where, source_address=("127.0.0.9", 0))
        crowd = [
            socket.create_connection(where, source_address=(f"127.0.0.{10 + number % 5}", 0))
            for number in range(MOST_WAITING + 6)
        ]
        alone.settimeout(0.3)
        with pytest.raises(TimeoutError):
            alone.recv(1)  # nothing has come: not even the end
        for caller in (alone, *crowd):
            caller.close()


def test_a_full_house_still_takes_a_tablet_whose_line_went_dead(visit, room, monkeypatch):
    """After the hotspot fell over, every tablet calls again while its old line is not known to be dead yet."""
    monkeypatch.setattr("fieldapp.services.nearby.door.MOST_INSIDE", 2)
    a, b, third = visit.tablet("A"), visit.tablet("B"), visit.tablet("C")
    with room(visit.desk) as open_room:
        dead = [calling(open_room, station) for station in (a, b)]
        open_room.work_until(lambda: sum(bool(c.inside) for c in open_room.listener._door._callers) == 2)
        (came,) = open_room.send(third)
        assert isinstance(came, Told) and came.code is Code.BUSY
        still_works(open_room, a)
        still_works(open_room, b)
        for line in dead:
            line.close()


def test_one_tablet_is_only_so_many_devices(visit, room, monkeypatch):
    monkeypatch.setattr("fieldapp.services.nearby.book.MOST_DEVICES_OF_ONE_TABLET", 3)
    station = visit.tablet("A")
    with room(visit.desk) as open_room:
        still_works(open_room, station)
        for number in range(5):
            thread = threading.Thread(
                target=greet_as, args=(open_room, station, hello_of(station, device=f"false{number}"))
            )
            thread.start()
            open_room.work_until(lambda thread=thread: not thread.is_alive())
        open_room.work_until(lambda: open_room.listener.turned_away)
        assert len(open_room.listener.heard) == 3
        still_works(open_room, station)


def test_one_tablet_cannot_take_all_places(visit, room):
    greedy, other = visit.tablet("A"), visit.tablet("B")
    with room(visit.desk) as open_room:
        lines = [calling(open_room, greedy) for _ in range(6)]
        still_works(open_room, other)
        open_room.work_until(lambda: open_room.listener.turned_away >= 4)
        assert sum(thread.name == "talk" for thread in threading.enumerate()) <= 2
        still_works(open_room, greedy)
        for line in lines:
            line.close()
