"""The visit book as the talks see it: every question to it is a job on the bench. No sockets and no threads here."""

from __future__ import annotations

import threading
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager

from fieldapp.services.desk import Desk
from fieldapp.services.nearby.bench import Bench
from fieldapp.services.visit_book import sealing_of
from shared.records.entries import LISTINGS, STAYS_IN_THE_BOOK, Entry
from sync.handout import unpack_key
from sync.nearby.holdings import Holdings
from sync.nearby.messages import Account, Hello
from sync.nearby.news import write_news
from sync.nearby.troubles import batch_altered, busy, reading_a_batch, unknown_tablet, unruly
from sync.returns import read_return

#: A batch may unpack to this many bytes at most.
LARGEST_BODY = 4 * 1024 * 1024
#: So many talks may have a batch unpacked at once; the others wait with theirs as it came.
MOST_OPEN = 2
#: A tablet that is handed out anew, or its store copied, is a new device of the same tablet. So many and no more.
MOST_DEVICES_OF_ONE_TABLET = 16


class OpenBook:
    """What all talks share: the account of what the book holds, and which devices have called."""

    def __init__(self, desk: Desk, bench: Bench, note: Callable[..., None]) -> None:
        self.desk = desk
        self.bench = bench
        self.note = note
        self.holdings = Holdings()
        self._opening = threading.BoundedSemaphore(MOST_OPEN)
        #: The newest talk of each device: an older one, whose line had gone dead, has nothing more to say of it.
        self.newest: dict[str, TalkBook] = {}
        about = desk.ledger.about
        self.visit = str(about["visit"])
        self.sealing = sealing_of(desk.ledger)
        self.signing = unpack_key(about["signing"])

    def view(self) -> TalkBook:
        """The book for one talk."""
        return TalkBook(self)

    @contextmanager
    def opening(self) -> Iterator[None]:
        """Around all that is done with an unpacked batch; raises ``Refused`` where the turn does not come in time."""
        if not self._opening.acquire(timeout=self.bench.patience):
            raise busy()
        try:
            yield
        finally:
            self._opening.release()

    def devices(self) -> dict[str, str]:
        """Every device that the book has heard of or that has called now, and its tablet's id."""
        seen = self.desk.ledger.about.get("seen", {})
        calling = {device: talk.tablet_id for device, talk in self.newest.items()}
        return {**calling, **{device: str(each.get("tablet_id")) for device, each in seen.items()}}

    def up_to_date(self) -> Holdings:
        """The account, with what was written at the desk meanwhile; on the owner's thread."""
        register = self.desk.ledger.register
        size = len(register) + sum(len(variants) - 1 for variants in register.variants.values())
        self.holdings.catch_up(register.all_variants, size)
        return self.holdings


class TalkBook:
    """``sync.nearby.lead.Book`` for one talk. Opening and sealing are done on the talk's thread, what touches the
    book on the owner's."""

    def __init__(self, shared: OpenBook) -> None:
        self._shared = shared
        self.device = self.tablet_id = ""
        self._signing_public = b""
        self._classes: Sequence[str] = ()
        self._new = self._known = self._told = 0
        self._given: dict[str, set[int]] = {}  # what the tablet has sent in this talk: counters by device

    def admit(self, hello: Hello) -> None:
        """Raise ``UnknownTablet`` unless the book made a handout for this tablet."""
        self._shared.bench.do(lambda: self._admit(hello))

    def _admit(self, hello: Hello) -> None:
        tablet = next((each for each in self._shared.desk.tablets if each.id == hello.tablet_id), None)
        devices = self._shared.devices()
        if tablet is None or devices.get(hello.device, tablet.id) != tablet.id:
            raise unknown_tablet()  # or one that gives itself out for another tablet's device
        if (
            hello.device not in devices
            and list(devices.values()).count(tablet.id) >= MOST_DEVICES_OF_ONE_TABLET
        ):
            raise unruly("too many devices for one tablet")
        self.device, self.tablet_id = hello.device, tablet.id
        self._shared.newest[hello.device] = self
        self._signing_public, self._classes = tablet.signing_public, tablet.classes
        held = self._shared.up_to_date().of_device(hello.device)
        self._shared.note(
            hello.device,
            tablet=tablet.name,
            state="sending",
            highest=hello.highest,
            held=held,
            new=0,
            known=0,
            told=0,
        )

    def compare(self, hello: Hello, account: Account) -> Account:
        """What the book holds of what the tablet holds."""
        while self._shared.bench.do(lambda: self._shared.up_to_date().prepare(account.devices.keys())):
            pass
        return self._shared.bench.do(lambda: self._shared.up_to_date().answer(account))

    def take(self, hello: Hello, data: bytes) -> int:
        """Take a return in; durable when this returns. Gives how many of its entries were new."""
        with self._shared.opening():
            return self._take(hello, data)

    def _take(self, hello: Hello, data: bytes) -> int:
        with reading_a_batch():
            returned = read_return(
                data,
                visit=self._shared.visit,
                tablet_keys={hello.tablet_id: self._signing_public},
                lead_sealing_private=self._shared.sealing,
                largest=LARGEST_BODY,
            )

        if returned.device != hello.device:
            raise batch_altered()

        def job() -> int:
            holdings = self._shared.up_to_date()
            fresh = self._shared.desk.take_in(returned)
            holdings.add(fresh)
            for entry in returned.entries:
                self._given.setdefault(entry.device, set()).add(entry.counter)
            self._new += len(fresh)
            self._known += len(returned.entries) - len(fresh)
            held = holdings.of_device(hello.device)
            self._shared.note(hello.device, new=self._new, known=self._known, held=held)
            return len(fresh)

        return self._shared.bench.do(job)

    def held(self, hello: Hello) -> int:
        """How many of the device's own entries the book holds."""
        return self._shared.bench.do(lambda: self._shared.up_to_date().of_device(hello.device))

    def news(self, hello: Hello, account: Account) -> Iterable[bytes]:
        """What the tablet should know and does not: what a new handout for it would hold, and what it once wrote."""
        for batch in self._shared.bench.do(lambda: self._news(hello, account)):
            yield write_news(
                batch,
                visit=hello.visit,
                tablet_id=hello.tablet_id,
                news_key=hello.news_key,
                lead_signing_private=self._shared.signing,
            )

    def _news(self, hello: Hello, account: Account) -> list[tuple[Entry, ...]]:
        holdings = self._shared.up_to_date()
        held = holdings.held_by(account, given=self._given)
        children = self._children(held) if self._classes else set()

        def concerns(entry: Entry) -> bool:
            subjects = entry.subjects
            if entry.kind in STAYS_IN_THE_BOOK:
                return False
            return (
                not self._classes
                or not subjects
                or not children.isdisjoint(subjects)
                or entry.device == hello.device
                or self._shared.desk.ledger.register.is_doubled(entry.device)  # told apart only as a whole
            )

        return list(holdings.batches(holdings.beyond(held, concerns)))

    def _children(self, held: Mapping[str, Collection[int]]) -> set[str]:
        """The records of the tablet's classes, and of every child that it holds already: one that has left or was
        given to another class must not be called for there, nor be seen twice."""
        register = self._shared.desk.ledger.register
        known = {
            record
            for listing in register.entries(*LISTINGS)
            if listing.counter in held.get(listing.device, ())
            for record in register.records_of(listing.id)
        }
        return known | self._shared.desk.records_of_classes(self._classes)

    def brought(self, hello: Hello, new: int) -> None:
        """A batch of news is durable on the tablet."""
        self._told += new
        told = self._told
        self._shared.bench.leave(lambda: self._shared.note(hello.device, told=told))
