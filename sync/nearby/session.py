"""The talk between one tablet and the lead as a state machine: who may say what when. No sockets, no clock, no stores.

Bytes go in, messages come out; messages go in, bytes come out. Whatever the tables below do not name is refused.
What is done about a message lives in ``lead`` and ``tablet``.
"""

from __future__ import annotations

from enum import StrEnum

from sync.nearby.frames import FrameReader, Kind, frame
from sync.nearby.messages import Account, Ack, Batch, End, Hello, Message, Refusal, Welcome, decode
from sync.nearby.troubles import cut, unruly

#: So many batches may be on their way unacknowledged.
WINDOW = 16
#: No talk is longer than this, whatever the peer is good for.
MOST_BATCHES = 20_000


class State(StrEnum):
    """Where a talk stands; both sides use the same words."""

    OPEN = "open"
    GREETED = "greeted"
    WELCOMED = "welcomed"
    COMPARING = "comparing"
    BRINGING = "bringing"  # batches go from the tablet to the lead
    IN_HAND = "in hand"  # a batch has come and must be acknowledged before anything else is read
    RETURNING = "returning"  # news goes from the lead to the tablet
    CLOSING = "closing"
    OVER = "over"
    REFUSED = "refused"


class Way(StrEnum):
    """Whether a message came or goes."""

    GOT = "<"
    SAID = ">"


S, GOT, SAID = State, Way.GOT, Way.SAID
Table = dict[tuple[State, Way, Kind], State]

LEAD: Table = {
    (S.OPEN, GOT, Kind.HELLO): S.GREETED,
    (S.GREETED, SAID, Kind.WELCOME): S.WELCOMED,
    (S.WELCOMED, GOT, Kind.ACCOUNT): S.COMPARING,
    (S.COMPARING, SAID, Kind.ACCOUNT): S.BRINGING,
    (S.BRINGING, GOT, Kind.BATCH): S.IN_HAND,
    (S.IN_HAND, SAID, Kind.ACK): S.BRINGING,
    (S.BRINGING, GOT, Kind.END): S.RETURNING,
    (S.RETURNING, SAID, Kind.BATCH): S.RETURNING,
    (S.RETURNING, GOT, Kind.ACK): S.RETURNING,
    (S.RETURNING, SAID, Kind.END): S.CLOSING,
    (S.CLOSING, GOT, Kind.END): S.OVER,
}

TABLET: Table = {
    (S.OPEN, SAID, Kind.HELLO): S.GREETED,
    (S.GREETED, GOT, Kind.WELCOME): S.WELCOMED,
    (S.WELCOMED, SAID, Kind.ACCOUNT): S.COMPARING,
    (S.COMPARING, GOT, Kind.ACCOUNT): S.BRINGING,
    (S.BRINGING, SAID, Kind.BATCH): S.BRINGING,
    (S.BRINGING, GOT, Kind.ACK): S.BRINGING,
    (S.BRINGING, SAID, Kind.END): S.RETURNING,
    (S.RETURNING, GOT, Kind.BATCH): S.IN_HAND,
    (S.IN_HAND, SAID, Kind.ACK): S.RETURNING,
    (S.RETURNING, GOT, Kind.END): S.CLOSING,
    (S.CLOSING, SAID, Kind.END): S.OVER,
}

_FINAL = (S.OVER, S.REFUSED)


class Session:
    """One side of one talk."""

    def __init__(self, table: Table) -> None:
        self._table = table
        self._reader = FrameReader()
        self.state = State.OPEN
        self.said = self.acknowledged = 0  # batches of this side
        self.got = 0  # batches of the other side

    @property
    def outstanding(self) -> int:
        """How many of this side's batches wait for their acknowledgement."""
        return self.said - self.acknowledged

    @property
    def over(self) -> bool:
        """Whether nothing more may be said or heard."""
        return self.state in _FINAL

    @property
    def partial(self) -> bool:
        """Whether a message has begun to come and is not whole."""
        return self._reader.partial

    def feed(self, data: bytes) -> None:
        """Take bytes from the other side; empty: it has closed. Raises ``Cut`` if the talk is not over by then."""
        if data:
            self._reader.feed(data)
        elif not self.over:
            raise cut()

    def next(self) -> Message | None:
        """The next whole message, or None until more bytes have come; raises ``Unruly`` or ``Damaged``."""
        if self.over or (found := self._reader.next()) is None:
            return None
        kind, payload = found
        self._check_turn(GOT, kind)
        message = decode(kind, payload)
        self._count(GOT, message)
        self._move(GOT, kind)
        return message

    def say(self, message: Message) -> bytes:
        """The bytes of a message that this side may now say; ``Unruly`` otherwise (a fault of the caller's)."""
        self._check_turn(SAID, message.kind)
        self._count(SAID, message)
        data = frame(message.kind, message.encode())
        self._move(SAID, message.kind)
        return data

    def _check_turn(self, way: Way, kind: Kind) -> None:
        if kind is not Kind.REFUSAL and (self.state, way, kind) not in self._table:
            raise unruly("a message out of turn")
        if self.over:
            raise unruly("the talk is over")

    def _move(self, way: Way, kind: Kind) -> None:
        self.state = S.REFUSED if kind is Kind.REFUSAL else self._table[self.state, way, kind]

    def _count(self, way: Way, message: Message) -> None:
        """What a table cannot say: numbers of batches."""
        match message:
            case Batch() if way is SAID:
                if self.outstanding >= WINDOW or self.said >= MOST_BATCHES:
                    raise unruly("too many batches at once")
                self.said += 1
            case Batch():
                if self.got >= MOST_BATCHES:
                    raise unruly("there is no end of batches")
                self.got += 1
            case Ack() if way is GOT:
                if message.batch != self.acknowledged + 1 or not self.outstanding:
                    raise unruly("an acknowledgement of what was not sent")
                self.acknowledged += 1
            case Ack():
                if message.batch != self.got:
                    raise unruly("an acknowledgement of what did not come")
            case End() if way is SAID:
                if self.outstanding or message.batches != self.said:
                    raise unruly("the end does not match what was sent")
            case End():
                if message.batches != self.got:
                    raise unruly("the end does not match what came")
            case Hello() | Welcome() | Account() | Refusal():
                pass
