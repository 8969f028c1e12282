"""What a caller at the lead's door can do by hand: call, greet, come as far as the batches, be broken off."""

from __future__ import annotations

import threading
from contextlib import contextmanager

from shared.errors import QuietbellError
from sync.handout import unpack_certificate, unpack_key
from sync.nearby.authority import Identity, Role
from sync.nearby.line import Line, Patience, call, context_for
from sync.nearby.messages import Account, Hello, Welcome
from sync.nearby.session import TABLET, Session


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


def greet_as(room, station, hello: Hello) -> None:
    """Call with the tablet's own certificate, say this hello, and wait for what comes of it."""
    with calling_off(room, station) as line:
        line.send(Session(TABLET).say(hello))
        line.receive(line.deadline())


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
