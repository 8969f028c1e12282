"""Stores in memory that talk over pipes of bytes: the whole protocol without a socket, a disk or a certificate."""

from __future__ import annotations

import queue
import threading
import zlib

import pytest

from shared.errors import QuietbellError
from shared.records.entries import Entry, Kind
from sync.nearby.authority import Holder, Role
from sync.nearby.holdings import Holdings
from sync.nearby.lead import hear_tablet
from sync.nearby.messages import VERSION, Hello
from sync.nearby.tablet import send_to_lead
from sync.nearby.troubles import cut

BOOK = "book"


def entry(counter: int, device: str, note: str = "", child: str = "1@book") -> Entry:
    stamp = f"{1_700_000_000_000 + counter:015d}.{0:06d}@{device}"
    body = {"child": child, "note": note or f"note {counter}"}
    return Entry(f"{counter}@{device}", stamp, "2026-10-14T08:00:00+00:00", "MK", "v", Kind.OBSERVATION, body)


class Memory:
    """A store: a set of entries. Taking in is at once; ``taken`` remembers what was acknowledged as durable."""

    def __init__(self, entries=()) -> None:
        self.holdings = Holdings()
        self.entries: dict[bytes, Entry] = {}
        self.take_in(entries)

    def take_in(self, entries) -> int:
        fresh = {e.canonical(): e for e in entries if e.canonical() not in self.entries}
        self.entries |= fresh
        self.holdings.add(fresh.values())
        return len(fresh)


def pack(entries) -> bytes:
    return zlib.compress(b"\n".join(e.canonical() for e in entries))


def unpack(data: bytes):
    import json

    return [Entry.from_document(json.loads(line)) for line in zlib.decompress(data).split(b"\n") if line]


class MemoryBook(Memory):
    """``lead.Book`` without a book."""

    def admit(self, hello):
        pass

    def compare(self, hello, account):
        return self.holdings.answer(account)

    def take(self, hello, data):
        return self.take_in(unpack(data))

    def held(self, hello):
        return self.holdings.of_device(hello.device)

    def news(self, hello, account):
        return [pack(batch) for batch in self.holdings.batches(self.holdings.lacking(account))]

    def brought(self, hello, new):
        pass


class MemoryStore(Memory):
    """``tablet.Store`` without a store."""

    def __init__(self, device, entries=()) -> None:
        super().__init__(entries)
        self.device = device
        self.acknowledged_batches = 0

    def hello(self):
        return Hello(VERSION, "v", "t", self.device, self.holdings.of_device(self.device), bytes(32))

    def account(self):
        return self.holdings.account()

    def batches(self, lead):
        lacking = [e for e in self.holdings.lacking(lead) if e.device != BOOK]
        return [pack(batch) for batch in self.holdings.batches(lacking)] or [pack(())]

    def acknowledged(self, ack):
        self.acknowledged_batches += 1

    def take(self, data):
        return self.take_in(unpack(data))


class Pipe:
    """Bytes one way; cut after ``allowed`` bytes."""

    def __init__(self, allowed: int | None, piece: int) -> None:
        self._queue: queue.Queue[bytes] = queue.Queue()
        self._left = allowed
        self._piece = piece
        self.record = bytearray()

    def put(self, data: bytes) -> None:
        if self._left is not None:
            data = data[: self._left]
            self._left -= len(data)
        self.record += data
        for place in range(0, len(data), self._piece):
            self._queue.put(data[place : place + self._piece])
        if self._left == 0:
            self._queue.put(b"")
            raise cut()

    def close(self) -> None:
        self._queue.put(b"")

    def get(self) -> bytes:
        return self._queue.get(timeout=10)


class End:
    """One end of two pipes: ``talk.Wire``."""

    def __init__(self, out: Pipe, into: Pipe) -> None:
        self._out, self._into = out, into

    def deadline(self):
        return 0.0

    def receive(self, deadline):
        return self._into.get()

    def send(self, data):
        self._out.put(data)

    def hang_up(self):
        self._out.close()


def exchange(book, store, *, cut_up=None, cut_down=None, piece=1 << 20):
    """One talk; gives (what the tablet got or its error, the lead's, bytes up, bytes down)."""
    up, down = Pipe(cut_up, piece), Pipe(cut_down, piece)
    came: list[object] = [None, None]

    def lead() -> None:
        try:
            came[1] = hear_tablet(End(down, up), Holder("v", Role.TABLET, "t"), book)
        except QuietbellError as error:
            came[1] = error

    thread = threading.Thread(target=lead)
    thread.start()
    try:
        came[0] = send_to_lead(End(up, down), store)
    except QuietbellError as error:
        came[0] = error
    thread.join(10)
    assert not thread.is_alive()
    return came[0], came[1], bytes(up.record), bytes(down.record)


@pytest.fixture
def talk():
    """``exchange`` for tests."""
    return exchange
