"""The lead's side of a talk: who is let in, in which order things happen. The book itself is asked through ``Book``."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

from shared.errors import QuietbellError
from sync.nearby.authority import Holder, Role
from sync.nearby.messages import VERSION, Account, Ack, End, Hello, Welcome
from sync.nearby.session import LEAD
from sync.nearby.talk import Talk, Wire
from sync.nearby.troubles import another_visit, newer_peer, older_peer


class Book(Protocol):
    """What the talk asks of the visit book. A call returns when what it says has happened."""

    def admit(self, hello: Hello) -> None:
        """Raise ``UnknownTablet`` unless the book made a handout for this tablet."""
        ...

    def compare(self, hello: Hello, account: Account) -> Account:
        """What the book holds of what the tablet holds."""
        ...

    def take(self, hello: Hello, data: bytes) -> int:
        """Take a return in; durable when this returns. Gives how many of its entries were new."""
        ...

    def held(self, hello: Hello) -> int:
        """How many of the device's own entries the book holds."""
        ...

    def news(self, hello: Hello, account: Account) -> Iterable[bytes]:
        """What the tablet should know and does not, as sealed batches."""
        ...

    def brought(self, hello: Hello, new: int) -> None:
        """A batch of news is durable on the tablet."""
        ...


@dataclass(frozen=True, slots=True)
class Heard:
    """A talk that went to its end."""

    device: str
    batches: int
    held: int


def hear_tablet(wire: Wire, holder: Holder, book: Book) -> Heard:
    """Talk with a tablet whose certificate names ``holder``, to the end. Raises a ``QuietbellError`` otherwise;
    the tablet has then been told."""
    talk = Talk(LEAD, wire)
    problem: QuietbellError | None = None
    try:
        return _hear(talk, holder, book)
    except QuietbellError as error:
        problem = error
        raise
    finally:
        talk.end(problem)


def turn_away(wire: Wire, problem: QuietbellError) -> None:
    """Refuse a caller before it has said anything."""
    Talk(LEAD, wire).end(problem)


def _hear(talk: Talk, holder: Holder, book: Book) -> Heard:
    hello = talk.expect(Hello)
    if hello.version > VERSION:
        raise newer_peer()
    if hello.version < VERSION:
        raise older_peer()
    if holder.role is not Role.TABLET or (hello.visit, hello.tablet_id) != (holder.visit, holder.id):
        raise another_visit()
    book.admit(hello)
    talk.say(Welcome(VERSION))
    account = talk.expect(Account)
    talk.say(book.compare(hello, account))
    talk.take(lambda data: book.take(hello, data))
    held = book.held(hello)

    def brought(ack: Ack) -> None:
        book.brought(hello, ack.new)

    talk.give(book.news(hello, account), brought)
    talk.say(End(talk.session.said, held))
    talk.expect(End)
    return Heard(hello.device, talk.session.got, held)
