"""What one store holds, told so that two stores can find out what each lacks without sending it. No I/O.

Counters alone do not say it: after a restored copy two entries may share an id, and a tablet holds only parts of the
other devices. So each unbroken run of counters goes with a digest of the entries under it (``NEARBY.md``).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from hashlib import sha256

from shared.records.entries import Entry
from sync.nearby.messages import Account, Span

#: Runs end at multiples of this counter, so that one difference makes no more than this be sent again.
BLOCK = 1024
MOST_ENTRIES_A_BATCH = 1000
MOST_BYTES_A_BATCH = 1024 * 1024  # of canonical entries, before packing
_DIGEST_BYTES = 16
#: So many entries are digested at a time, some 20 ms: whoever owns the store has a screen to keep alive meanwhile.
MOST_ENTRIES_AT_A_TIME = 1000


class Holdings:
    """The entries of one store by device and counter. Digests are worked out when first asked for, and kept."""

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        self._of: dict[str, dict[int, list[Entry]]] = {}
        self._seals: dict[str, dict[int, tuple[bytes, int]]] = {}
        self._count = 0
        self.add(entries)

    def __len__(self) -> int:
        return self._count

    def add(self, entries: Iterable[Entry]) -> None:
        """Take note of entries that are new to the store (a new variant of a known id is new)."""
        for entry in entries:
            device, counter = entry.device, entry.counter
            self._of.setdefault(device, {}).setdefault(counter, []).append(entry)
            self._seals.get(device, {}).pop(counter, None)
            self._count += 1

    def catch_up(self, everything: Callable[[], Iterable[Entry]], size: int) -> None:
        """Take note of what was written past this account; nothing is looked at where it counts ``size`` already."""
        if self._count != size:
            known = self._knows if self._count else lambda _entry: False
            self.add([entry for entry in everything() if not known(entry)])

    def _knows(self, entry: Entry) -> bool:
        variants = self._of.get(entry.device, {}).get(entry.counter, ())
        return any(known is entry or known == entry for known in variants)

    def prepare(self, devices: Collection[str] | None = None) -> bool:
        """Work out some of what an account of those devices needs (all, unless named); gives whether more is left.

        To be called until nothing is: an account is then a matter of moments, however much is held.
        """
        left = MOST_ENTRIES_AT_A_TIME
        for device in self._of if devices is None else self._of.keys() & devices:
            known, seals = self._of[device], self._seals.setdefault(device, {})
            if len(seals) == len(known):
                continue
            for counter in known.keys() - seals.keys():
                if not left:
                    return True
                self._seal(device, counter)
                left -= 1
        return False

    def of_device(self, device: str) -> int:
        """How many different ids of that device are held."""
        return len(self._of.get(device, ()))

    def account(self) -> Account:
        """Everything, by device and run."""
        return Account(
            {device: self._spans(device, _runs(sorted(self._of[device]))) for device in sorted(self._of)}
        )

    def answer(self, asked: Account) -> Account:
        """What is held of the runs that the other side holds: each run whole, in parts, or not at all."""
        told: dict[str, tuple[Span, ...]] = {}
        for device, spans in asked.devices.items():
            known = sorted(self._of.get(device, ()))
            if known:
                runs = (run for span in spans for run in _runs(_within(known, span)))
                told[device] = self._spans(device, runs)
        return Account(told)

    def held_by(
        self, other: Account, *, given: Mapping[str, Collection[int]] | None = None
    ) -> dict[str, set[int]]:
        """By device the counters under which the holder of ``other`` has just what is held here.

        ``given``: the counters by device of entries that it gave us itself. Where nothing else is known under them it
        has them as they are here, and no digest need be worked out to see that.
        """
        given = given or {}
        found: dict[str, set[int]] = {}
        for device, known in self._of.items():
            held = {counter for counter in given.get(device, ()) if len(known.get(counter, ())) == 1}
            spans = other.devices.get(device, ())
            ordered = sorted(known) if spans else []
            for span in spans:
                counters = _within(ordered, span)
                if held.issuperset(counters):
                    continue
                if (
                    len(counters) == span.last - span.first + 1
                    and self._digest(device, counters) == span.digest
                ):
                    held.update(counters)
            found[device] = held
        return found

    def beyond(
        self, held: Mapping[str, Collection[int]], wanted: Callable[[Entry], bool] = lambda _entry: True
    ) -> list[Entry]:
        """The ``wanted`` entries under other counters than ``held``, in stamp order."""
        found: list[Entry] = []
        for device, known in self._of.items():
            for counter in known.keys() - held.get(device, ()):
                found += filter(wanted, known[counter])
        return sorted(found, key=lambda entry: (entry.stamp, entry.id))

    def lacking(self, other: Account, wanted: Callable[[Entry], bool] = lambda _entry: True) -> list[Entry]:
        """The ``wanted`` entries that the holder of ``other`` does not have as they are here, in stamp order."""
        return self.beyond(self.held_by(other), wanted)

    def batches(self, entries: Iterable[Entry]) -> Iterator[tuple[Entry, ...]]:
        """Entries in portions of bounded number and size."""
        batch: list[Entry] = []
        size = 0
        for entry in entries:
            more = self._seal(entry.device, entry.counter)[1]
            if batch and (len(batch) >= MOST_ENTRIES_A_BATCH or size + more > MOST_BYTES_A_BATCH):
                yield tuple(batch)
                batch, size = [], 0
            batch.append(entry)
            size += more
        if batch:
            yield tuple(batch)

    def _spans(self, device: str, runs: Iterable[list[int]]) -> tuple[Span, ...]:
        return tuple(Span(run[0], run[-1], self._digest(device, run)) for run in runs)

    def _digest(self, device: str, counters: Iterable[int]) -> bytes:
        whole = sha256()
        for counter in counters:
            whole.update(self._seal(device, counter)[0])
        return whole.digest()[:_DIGEST_BYTES]

    def _seal(self, device: str, counter: int) -> tuple[bytes, int]:
        """What goes into a run's digest for one counter, and the canonical size of what is under it (bytes)."""
        seals = self._seals.setdefault(device, {})
        if counter not in seals:
            texts = [entry.canonical() for entry in self._of[device][counter]]
            digests = sorted(sha256(text).digest() for text in texts)
            seals[counter] = (counter.to_bytes(8, "big") + b"".join(digests), sum(map(len, texts)))
        return seals[counter]


def _within(known: Sequence[int], span: Span) -> Sequence[int]:
    """The counters of ``known``, which are sorted, inside the span. Spans are apart, so all of an account together
    cost no more than what is known, however wide they are."""
    return known[bisect_left(known, span.first) : bisect_right(known, span.last)]


def _runs(counters: Iterable[int]) -> Iterator[list[int]]:
    """Sorted counters as unbroken runs, cut at the end of each block."""
    run: list[int] = []
    for counter in counters:
        if run and (counter != run[-1] + 1 or run[-1] % BLOCK == 0):
            yield run
            run = []
        run.append(counter)
    if run:
        yield run
