"""The talk at work: a session on a line. Hearing, saying, refusing, giving and taking batches; both sides alike."""

from __future__ import annotations

import contextlib
from collections.abc import Callable, Iterable
from typing import Protocol, TypeVar

from shared.errors import QuietbellError
from sync.nearby.messages import Ack, Batch, End, Message, Refusal
from sync.nearby.session import WINDOW, Session, State, Table
from sync.nearby.troubles import Cut, Unruly, code_of, cut, told, unruly

M = TypeVar("M", bound=Message)


class Wire(Protocol):
    """What a talk needs of a line; tests give it pipes of bytes."""

    def deadline(self) -> float:
        """Until when a message that is due now must be whole."""
        ...

    def receive(self, deadline: float) -> bytes:
        """The next bytes, empty at the end."""
        ...

    def send(self, data: bytes) -> None:
        """Send all of it."""
        ...

    def hang_up(self) -> None:
        """Close so that what was said last still arrives."""
        ...


class Talk:
    """One side of one talk on one line."""

    def __init__(self, table: Table, wire: Wire) -> None:
        self.session = Session(table)
        self._wire = wire

    def say(self, message: Message) -> None:
        """Say it; returns when it is on its way."""
        data = self.session.say(message)
        try:
            self._wire.send(data)
        except Cut:
            self._hear_last_word()
            raise

    def _hear_last_word(self) -> None:
        """Whoever refuses hangs up: where sending fails, raise what the other side has said before, if anything."""
        with contextlib.suppress(Cut, Unruly):
            while True:
                self.hear()

    def hear(self) -> Message:
        """The next message. Raises ``Told`` and its like where the other side refuses, ``Cut``, ``Unruly``."""
        deadline = self._wire.deadline()
        while (message := self.session.next()) is None:
            if self.session.over:
                raise cut()
            self.session.feed(self._wire.receive(deadline))
        if isinstance(message, Refusal):
            raise told(message.code)
        return message

    def expect(self, wanted: type[M]) -> M:
        """The next message, which can only be of that type."""
        message = self.hear()
        if not isinstance(message, wanted):
            raise unruly("a message out of turn")
        return message

    def end(self, problem: QuietbellError | None) -> None:
        """Part: with a refusal where there is a problem that the other side does not know of yet."""
        if problem is not None and self.session.state is not State.REFUSED:
            with contextlib.suppress(QuietbellError):
                self._wire.send(self.session.say(Refusal(code_of(problem))))
        self._wire.hang_up()

    def give(self, batches: Iterable[bytes], acknowledged: Callable[[Ack], None]) -> None:
        """Send batches, a few ahead of their acknowledgements; returns when all are acknowledged."""
        for data in batches:
            while self.session.outstanding >= WINDOW:
                acknowledged(self.expect(Ack))
            self.say(Batch(data))
        while self.session.outstanding:
            acknowledged(self.expect(Ack))

    def take(self, take_in: Callable[[bytes], int]) -> End:
        """Take batches until the other side's end; each is acknowledged when ``take_in`` has made it durable."""
        while isinstance(message := self.hear(), Batch):
            new = take_in(message.data)
            self.say(Ack(self.session.got, new))
        if not isinstance(message, End):
            raise unruly("a message out of turn")
        return message
