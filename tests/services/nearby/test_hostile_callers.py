"""Callers that are wrong, rude or broken: each gets its own words, costs little, and disturbs no other tablet."""

from __future__ import annotations

import os
import socket
import threading
import tracemalloc
from contextlib import contextmanager
from datetime import timedelta

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fieldapp.services.nearby import Listener, Sender
from fieldapp.services.nearby.door import MOST_CALLERS, MOST_WAITING_FROM_ONE
from shared.errors import Damaged, ForeignFile, NewerVersion, QuietbellError, Refused
from sync.handout import pack_certificate, pack_key, unpack_certificate, unpack_key
from sync.nearby import authority as authorities
from sync.nearby.authority import Authority, Identity, Role
from sync.nearby.frames import MOST_BATCH, Kind, frame
from sync.nearby.line import Line, Patience, answer, call, context_for
from sync.nearby.messages import Account, Batch, Hello, Welcome
from sync.nearby.session import LEAD, TABLET, Session
from sync.nearby.troubles import Cut, Stalled, Told, UnknownTablet, Unruly
from sync.sealed import FileKind, seal

HASTY = Patience(handshake=0.6, idle=0.6, message=1.2)


def identity_of(station) -> Identity:
    about = station.ledger.about
    return Identity(unpack_certificate(about["certificate"]), unpack_key(about["certificate_key"]))


def calling(room, station, identity=None) -> Line:
    """A line to the lead, with the tablet's own certificate unless another is given."""
    authority = unpack_certificate(station.ledger.about["authority"])
    context = context_for(Role.TABLET, authority, identity or identity_of(station))
    where = room.address
    return call(where.host, where.port, context, Patience(), station.ledger.clock.now())


def hello_of(station, **changed) -> Hello:
    about = station.ledger.about
    fields = {
        "version": 1,
        "visit": about["visit"],
        "tablet_id": about["tablet_id"],
        "device": station.ledger.device,
        "highest": station.ledger.counter,
        "news_key": bytes(range(32)),
    }
    return Hello(**{**fields, **changed})


def up_to_batches(line, station) -> Session:
    """Say what comes before the first batch; the lead then waits for batches."""
    session = Session(TABLET)

    def hear():
        while (message := session.next()) is None:
            session.feed(line.receive(line.deadline()))
        return message

    line.send(session.say(hello_of(station)))
    assert isinstance(hear(), Welcome)
    line.send(session.say(Account({})))
    assert isinstance(hear(), Account)
    return session


def broken_off(room, act) -> QuietbellError:
    """Do something hostile on a thread of its own; gives what the lead then shows."""
    thread = threading.Thread(target=act)
    thread.start()
    room.work_until(lambda: any(each.problem for each in room.told))
    thread.join()
    return next(each.problem for each in room.told if each.problem)


def still_works(room, station) -> None:
    (sent,) = room.send(station)
    assert not isinstance(sent, Exception), sent
    assert sent.complete


# -- before the talk -------------------------------------------------------------------------------


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


@contextmanager
def calling_off(room, station, identity=None):
    try:
        line = calling(room, station, identity)
        try:
            yield line
        finally:
            line.close()
    except QuietbellError:
        pass


def test_a_tablet_that_names_another(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    with room(visit.desk) as open_room:

        def act() -> None:
            with calling_off(open_room, a) as line:
                line.send(Session(TABLET).say(hello_of(b)))
                line.receive(line.deadline())

        assert isinstance(broken_off(open_room, act), ForeignFile)
        still_works(open_room, a)


def test_a_tablet_that_gives_itself_out_for_anothers_device(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    with room(visit.desk) as open_room:
        still_works(open_room, b)

        def act() -> None:
            with calling_off(open_room, a) as line:
                line.send(Session(TABLET).say(hello_of(a, device=b.ledger.device)))
                line.receive(line.deadline())

        assert isinstance(broken_off(open_room, act), UnknownTablet)
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


# -- versions --------------------------------------------------------------------------------------


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


# -- garbage, stalls, floods, endless bodies -------------------------------------------------------


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
