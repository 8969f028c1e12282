"""The tablet's side of a talk: in which order things happen. The store itself is asked through ``Store``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from shared.errors import QuietbellError
from sync.nearby.messages import VERSION, Account, Ack, End, Hello, Welcome
from sync.nearby.session import TABLET
from sync.nearby.talk import Talk, Wire
from sync.nearby.troubles import newer_peer, older_peer


class Store(Protocol):
    """What the talk asks of the tablet store. A call returns when what it says has happened."""

    def hello(self) -> Hello:
        """The first word, with a key of this talk only."""
        ...

    def account(self) -> Account:
        """What the tablet holds."""
        ...

    def batches(self, lead: Account) -> Iterable[bytes]:
        """What the lead lacks, as sealed, signed returns; at least one, which may be empty."""
        ...

    def acknowledged(self, ack: Ack) -> None:
        """A batch is durable in the lead's book."""
        ...

    def take(self, data: bytes) -> int:
        """Take news in; durable when this returns. Gives how many entries were new."""
        ...


@dataclass(frozen=True, slots=True)
class Brought:
    """A talk that went to its end: ``held`` of the device's own entries are in the lead's book."""

    batches: int
    held: int


def send_to_lead(wire: Wire, store: Store) -> Brought:
    """Talk with the lead to the end. Raises a ``QuietbellError`` otherwise; the lead has then been told."""
    talk = Talk(TABLET, wire)
    problem: QuietbellError | None = None
    try:
        return _send(talk, store)
    except QuietbellError as error:
        problem = error
        raise
    finally:
        talk.end(problem)


def _send(talk: Talk, store: Store) -> Brought:
    hello = store.hello()
    talk.say(hello)
    welcome = talk.expect(Welcome)
    if welcome.version > VERSION:
        raise newer_peer()
    if welcome.version < VERSION:
        raise older_peer()
    talk.say(store.account())
    talk.give(store.batches(talk.expect(Account)), store.acknowledged)
    talk.say(End(talk.session.said, hello.highest))
    end = talk.take(store.take)
    talk.say(End(talk.session.said, hello.highest))
    return Brought(talk.session.said, end.held)
