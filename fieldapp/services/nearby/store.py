"""The tablet's store as one talk sees it: each question to it is a job on the bench. No sockets, no threads here."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

from fieldapp.services.nearby.bench import Bench
from fieldapp.services.nearby.book import LARGEST_BODY
from fieldapp.services.station import Station
from shared.records.entries import Entry
from sync.handout import unpack_key
from sync.nearby.holdings import Holdings
from sync.nearby.messages import VERSION, Account, Ack, Hello
from sync.nearby.news import read_news
from sync.nearby.troubles import reading_a_batch
from sync.returns import Return, write_return


class TalkStore:
    """``sync.nearby.tablet.Store`` for one talk. Sealing and opening are done on the talk's thread, what touches the
    store on the owner's. ``acknowledged_entries`` goes on from what earlier talks of this sending brought across."""

    def __init__(
        self,
        station: Station,
        bench: Bench,
        holdings: Holdings,
        say: Callable[..., None],
        acknowledged_entries: int,
    ) -> None:
        self._station = station
        self._bench = bench
        self._holdings = holdings
        self._say = say
        self._key = X25519PrivateKey.generate()
        self._sizes: list[int] = []
        self._last = 0  # number of the last batch
        self.acknowledged_entries = acknowledged_entries
        self.new = self.told = self.highest = 0
        self.brought = False  # whether everything that the lead lacked is durable in its book

    def hello(self) -> Hello:
        """The first word, with a key of this talk only."""
        about = self._station.ledger.about
        self.highest = self._station.ledger.counter
        visit, tablet_id = str(about["visit"]), str(about["tablet_id"])
        device = self._station.ledger.device
        return Hello(
            VERSION, visit, tablet_id, device, self.highest, self._key.public_key().public_bytes_raw()
        )

    def account(self) -> Account:
        """What the tablet holds."""
        self._say(stage="comparing")
        while self._bench.do(lambda: self._up_to_date().prepare()):
            pass
        return self._bench.do(lambda: self._up_to_date().account())

    def _up_to_date(self) -> Holdings:
        register = self._station.ledger.register
        size = len(register) + sum(len(variants) - 1 for variants in register.variants.values())
        self._holdings.catch_up(register.all_variants, size)
        return self._holdings

    def batches(self, lead: Account) -> Iterable[bytes]:
        """What the lead lacks, as sealed, signed returns; at least one, which may be empty: it tells the clock."""
        batches = self._bench.do(lambda: self._batches(lead))
        self._last = len(batches)
        total = self.acknowledged_entries + sum(map(len, batches))
        self._say(stage="sending", sent=self.acknowledged_entries, total=total)
        about = self._station.ledger.about
        sealing, signing = unpack_key(about["lead_sealing"]), unpack_key(about["signing"])
        for batch in batches:
            self._sizes.append(len(batch))
            yield write_return(
                self._return_of(batch), lead_sealing_public=sealing, tablet_signing_private=signing
            )

    def _batches(self, lead: Account) -> list[tuple[Entry, ...]]:
        book = self._station.ledger.about["book_device"]
        holdings = self._up_to_date()
        lacking = holdings.lacking(lead, lambda entry: entry.device != book)
        return list(holdings.batches(lacking)) or [()]

    def _return_of(self, entries: tuple[Entry, ...]) -> Return:
        about = self._station.ledger.about
        return Return(
            visit=str(about["visit"]),
            tablet_id=str(about["tablet_id"]),
            device=self._station.ledger.device,
            handout_made_at=str(about["handout_made_at"]),
            received_at=str(about["received_at"]),
            made_at=self._station.ledger.clock.now().isoformat(timespec="seconds"),
            highest=self.highest,
            entries=entries,
        )

    def acknowledged(self, ack: Ack) -> None:
        """A batch is durable in the lead's book."""
        self.acknowledged_entries += self._sizes[ack.batch - 1]
        self.new += ack.new
        self.brought = ack.batch == self._last
        self._say(sent=self.acknowledged_entries)

    def take(self, data: bytes) -> int:
        """Take news in; durable when this returns. Gives how many entries were new."""
        about = self._station.ledger.about
        with reading_a_batch():
            entries = read_news(
                data,
                visit=str(about["visit"]),
                tablet_id=str(about["tablet_id"]),
                key=self._key,
                lead_signing_public=unpack_key(about["lead_signing"]),
                largest=LARGEST_BODY,
            )

        def job() -> int:
            holdings = self._up_to_date()
            fresh = self._station.ledger.take_in(entries)
            holdings.add(fresh)
            return len(fresh)

        new = self._bench.do(job)
        self.told += new
        self._say(stage="receiving", told=self.told)
        return new
