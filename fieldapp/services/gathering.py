"""Gathering: returns into the visit book, and what that adds up to. Files and sealed bytes in, numbers out; no Kivy."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fieldapp.platform.files import read_whole
from fieldapp.services.deciding import Deciding
from fieldapp.services.ledger import Ledger
from fieldapp.services.receipt import receipt_code
from fieldapp.services.roll import children_of, status_counts
from fieldapp.services.visit_book import devices_of, sealing_of, tablets_of
from shared.collecting import no_collecting
from shared.errors import ForeignFile, QuietbellError, Refused
from shared.records.entries import Entry, Kind
from shared.records.standing import Status
from sync.devices import missing_counters, remembered
from sync.returns import Return, only_the_book_writes, read_return


@dataclass(frozen=True, slots=True)
class ReturnGathered:
    """What one return brought. ``problem`` set: it was refused and brought nothing."""

    file: str
    tablet: str = ""
    device: str = ""
    new: int = 0
    known: int = 0
    highest: int = 0
    missing: tuple[int, ...] = ()
    problem: QuietbellError | None = None


@dataclass(frozen=True, slots=True)
class Gathering:
    """What a gathering brought, and what it adds up to: listed + added - joined = children."""

    returns: tuple[ReturnGathered, ...]
    listed: int
    added: int
    joined: int
    children: int
    statuses: Mapping[Status, int]
    joined_automatically: tuple[tuple[str, str, tuple[str, ...]], ...] = field(default=())


class Gatherer:
    """Takes returns into one book."""

    def __init__(self, ledger: Ledger, deciding: Deciding) -> None:
        self._ledger = ledger
        self._deciding = deciding
        self._marks: dict[tuple[Path, int, int], str] = {}  # of files looked at: path, size, time changed

    def gather(self, files: Iterable[Path], progress: Callable[[int, str], None] | None = None) -> Gathering:
        """Take returns in, in any order and as often as wanted; a refused one leaves the book untouched.

        ``progress`` is called with the number of files done and the name of the file in hand.
        """
        gathered: list[ReturnGathered] = []
        with no_collecting():
            for done, file in enumerate(files):
                if progress is not None:
                    progress(done, file.name)
                try:
                    gathered.append(self._gather_one(file))
                except QuietbellError as problem:
                    gathered.append(ReturnGathered(file.name, problem=problem))
            self._deciding.join_automatically()
            self._ledger.tidy()
            return self.summary(gathered)

    def _gather_one(self, file: Path) -> ReturnGathered:
        data = read_whole(file)
        returned = read_return(
            data,
            visit=self._ledger.about["visit"],
            tablet_keys={tablet.id: tablet.signing_public for tablet in tablets_of(self._ledger)},
            lead_sealing_private=sealing_of(self._ledger),
        )
        fresh = self.take_in(returned, data)
        entries = self._ledger.register.entries_of(returned.device)
        name = next(tablet.name for tablet in tablets_of(self._ledger) if tablet.id == returned.tablet_id)
        return ReturnGathered(
            file=file.name,
            tablet=name,
            device=returned.device,
            new=len(fresh),
            known=len(returned.entries) - len(fresh),
            highest=returned.highest,
            missing=missing_counters([entry.counter for entry in entries], returned.highest),
        )

    def take_in(self, returned: Return, data: bytes = b"") -> list[Entry]:
        """Take an opened return in; durable when this returns. Gives the entries that were new.

        ``data``: the bytes of the file that it came in, by which the file is known again.
        """
        if any(entry.device == self._ledger.device for entry in returned.entries):
            raise only_the_book_writes()
        self._must_know_the_handout(returned)
        news: dict[str, Any] = {"seen": self._seen_after(returned)}
        if data:
            gathered: list[str] = self._ledger.about.get("gathered", [])
            news["gathered"] = [*(mark for mark in gathered if mark != _mark(data)), _mark(data)]
        return self._ledger.take_in(returned.entries, news)

    def _must_know_the_handout(self, returned: Return) -> None:
        """Raise ``ForeignFile`` where the tablet has a handout that this book did not make: restored from an older
        copy, it may have given the numbers of that handout's children to others since."""
        tablet = next((each for each in tablets_of(self._ledger) if each.id == returned.tablet_id), None)
        if tablet is not None and tablet.handouts and returned.handout_made_at not in tablet.handouts:
            raise ForeignFile(
                "This tablet was opened from a newer handout than this book knows of: the book is an older copy.",
                kept="The book was not changed, and the tablet keeps all it has.",
                todo="Gather it with the newest copy of the book, and keep this tablet as it is until then.",
            )

    def was_gathered(self, file: Path) -> bool:
        """Whether just this file was gathered before; one that cannot be read was not."""
        gathered = self._ledger.about.get("gathered", ())
        try:
            about = file.stat()
            known = (file, about.st_size, about.st_mtime_ns)
            if gathered and known not in self._marks:
                self._marks[known] = _mark(read_whole(file))
        except (OSError, QuietbellError):
            return False
        return self._marks.get(known) in gathered

    def _seen_after(self, returned: Return) -> dict[str, Any]:
        """What the book remembers of each device, after this return."""
        seen: dict[str, Any] = self._ledger.about.get("seen", {})
        now = self._ledger.clock.now().isoformat(timespec="seconds")
        return {**seen, returned.device: remembered(seen.get(returned.device, {}), returned, now)}

    def receipt(self, device: str) -> str:
        """The code to type on a tablet whose entries have all been gathered, so that it may be wiped."""
        seen = next((each for each in devices_of(self._ledger) if each.device == device), None)
        if seen is None or seen.missing:
            raise Refused("Not everything of this tablet has been gathered.", todo="Gather its return first.")
        key = next(
            tablet.signing_public for tablet in tablets_of(self._ledger) if tablet.id == seen.tablet_id
        )
        return receipt_code(key, device, seen.highest)

    def summary(self, returns: Sequence[ReturnGathered] = ()) -> Gathering:
        """What the book holds, in numbers that add up."""
        register = self._ledger.register
        standings = children_of(register)
        shown = {record for standing in standings for record in standing.records}
        listed = sum(entry.id in shown for entry in register.entries(Kind.CHILD_LISTED))
        added = sum(entry.id in shown for entry in register.entries(Kind.CHILD_ADDED))
        return Gathering(
            returns=tuple(returns),
            listed=listed,
            added=added,
            joined=listed + added - len(standings),
            children=len(standings),
            statuses=status_counts(standings),
            joined_automatically=tuple(
                (*map(str, entry.body["records"]), tuple(entry.body.get("evidence", ())))  # type: ignore[misc]
                for entry in register.entries(Kind.SAME_CHILD)
                if entry.body.get("automatic")
            ),
        )


def _mark(data: bytes) -> str:
    """What a file is known again by."""
    return hashlib.sha256(data).hexdigest()[:32]
