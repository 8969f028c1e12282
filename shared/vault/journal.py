"""The journal: the store's file while it is open. Appends transactions, gives way to a snapshot of itself.

One ``Journal`` holds the file, its lock, and the place and link of the next frame. It knows bytes and files
but neither documents nor TinyDB. ``FORMAT.md`` sections 5 to 7 are the norm.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path

from shared.errors import WriteRefused
from shared.vault import frames, header
from shared.vault.disk import Disk, take_lock, write_refused
from shared.vault.frames import Reading, Sealer
from shared.vault.header import BLOCK_BYTES, COPIES, JOURNAL_START, Header
from shared.vault.keys import Random, derived

PAYLOAD_TARGET = 4 * 1024
# Zeros kept ready behind the last frame: a sync that need not record a new length or new blocks is a third
# faster, and some hundred taps still find room on a disk that has just filled up.
RESERVE = 256 * 1024
_WRITTEN_AT_ONCE = 256  # frames


def sealer_for(head: Header, store_key: bytes) -> Sealer:
    """What seals and opens the frames of this journal."""
    key = derived(store_key, "frames 1", salt=head.journal)
    return Sealer(key, store=head.store, journal=head.journal, kind=head.kind)


class Journal:
    """The open file. Every method that writes raises ``WriteRefused`` and then has changed nothing."""

    def __init__(
        self,
        path: Path,
        file: int,
        head: Header,
        store_key: bytes,
        reading: Reading,
        *,
        disk: Disk,
        random: Random,
    ) -> None:
        self.path = path
        self.header = head
        self.frames_since_snapshot = 0
        self._file = file
        self._store_key = store_key
        self._disk = disk
        self._random = random
        self._sealer = sealer_for(head, store_key)
        self._end, self._number, self._link = reading.end, reading.number, reading.link
        self._reserved = 0
        self._reserves = True
        # What a failed write may have left behind; put right before anything else is written.
        self._tail_unsettled = False
        self._name_unsettled = False

    # -- starting ------------------------------------------------------------------------------------

    @classmethod
    def created_beside(
        cls,
        path: Path,
        head: Header,
        store_key: bytes,
        payloads: Iterable[bytes],
        *,
        disk: Disk,
        random: Random,
    ) -> Journal:
        """A new file in the place of ``path``: the header and, as its first transaction, ``payloads``.

        It is written beside, synced, read back and checked, and only then takes the name, in one step.
        """
        beside = new_generation_path(path)
        try:
            with suppress(FileNotFoundError):
                os.unlink(beside)
            file = disk.create(beside)
            try:
                take_lock(disk, file)
                journal = cls(path, file, head, store_key, Reading(JOURNAL_START), disk=disk, random=random)
                disk.write(file, head.to_block(store_key) * COPIES, 0)
                journal._write(payloads, reserve=False)
                disk.sync(file)
                journal._check()
                disk.replace(beside, path)
            except BaseException:
                disk.close(file)
                with suppress(OSError):
                    os.unlink(beside)
                raise
        except OSError as error:
            raise write_refused(error) from None
        # Until the directory is on the medium a crash may bring the old name back: no write before that.
        journal._name_unsettled = True
        with suppress(WriteRefused):
            journal.settle()
        return journal

    # -- writing -------------------------------------------------------------------------------------

    def append(self, payloads: Iterable[bytes]) -> None:
        """Seal one transaction, append it, and return when it is on the medium: one sync."""
        self.settle()
        before = self._end, self._number, self._link
        # Whatever interrupts the next lines, what they left is taken back before anything else is written.
        self._tail_unsettled = True
        try:
            self._write(payloads, reserve=True)
            self._disk.sync(self._file)
        except BaseException as error:
            self._end, self._number, self._link = before
            if not isinstance(error, OSError):
                raise
            with suppress(WriteRefused):
                self.settle()
            raise write_refused(error) from None
        self._tail_unsettled = False
        self.frames_since_snapshot += self._number - before[1]

    def _write(self, payloads: Iterable[bytes], *, reserve: bool) -> None:
        """One transaction behind the last frame, a few frames at a time: a gathering's is never whole in memory."""
        parts = frames.sealed_parts(
            payloads, self._sealer, number=self._number, link=self._link, random=self._random
        )
        batch = list(islice(parts, _WRITTEN_AT_ONCE))
        while batch:
            following = list(islice(parts, _WRITTEN_AT_ONCE))
            data = b"".join(batch)
            if reserve and not following:
                self._reserve(self._end + len(data))
            self._disk.write(self._file, data, self._end)
            self._end, self._number = self._end + len(data), self._number + len(batch)
            self._link = batch[-1][-frames.TAG_BYTES :]
            batch = following

    def _reserve(self, needed: int) -> None:
        """Keep zeros ready behind ``needed``. Where there is no room for them there may be for the tap."""
        if needed <= self._reserved or not self._reserves:
            return
        try:
            self._disk.reserve(self._file, needed, RESERVE)
            self._reserved = needed + RESERVE
        except OSError:
            self._reserves = False
            with suppress(OSError):
                self._disk.truncate(self._file, self._end)

    def settle(self) -> None:
        """Take back what a failed write may have left; raises ``WriteRefused`` while that is not possible."""
        try:
            if self._tail_unsettled:
                self._disk.truncate(self._file, self._end)
                self._disk.sync(self._file)
                self._tail_unsettled, self._reserved = False, 0
            if self._name_unsettled:
                self._disk.sync_directory(self.path.parent)
                self._name_unsettled = False
        except OSError as error:
            raise write_refused(error) from None

    def cut_tail(self) -> None:
        """Remove what stands behind the last finished transaction."""
        self._tail_unsettled = True
        self.settle()

    def write_header(self, head: Header) -> None:
        """Put a header of a later turn in force: one copy after the other, so that one is always whole."""
        self.settle()
        block = head.to_block(self._store_key)
        old = self.header.to_block(self._store_key)
        try:
            for copy in range(COPIES):
                self._disk.write(self._file, block, copy * BLOCK_BYTES)
                self._disk.sync(self._file)
        except OSError as error:
            with suppress(OSError):
                self._disk.write(self._file, old * COPIES, 0)
                self._disk.sync(self._file)
            raise write_refused(error) from None
        self.header = head

    def replaced_by(self, head: Header, store_key: bytes, payloads: Iterable[bytes]) -> Journal:
        """A new generation in the place of this one, which stays the good one until the new one is complete.

        The new file is written beside, synced, read back and checked, then renamed over the old name.
        """
        self.settle()
        new = Journal.created_beside(
            self.path, head, store_key, payloads, disk=self._disk, random=self._random
        )
        self._disk.close(self._file)
        return new

    def _check(self) -> None:
        """Read back what was written; raises ``OSError`` where the medium does not return it."""
        data = self._disk.read(self._file)
        found = header.find(data)
        reading = frames.read(data, JOURNAL_START, self._sealer)
        if not found.both_same or reading.gaps or (reading.end, reading.link) != (self._end, self._link):
            raise OSError("the new generation does not read back")

    def close(self) -> None:
        """Give the reserve back, close the file and let the lock go."""
        with suppress(OSError):
            self._disk.truncate(self._file, self._end)
        self._disk.close(self._file)


def new_generation_path(path: Path) -> Path:
    """Where a compaction writes before it takes the old one's place."""
    return path.with_name(path.name + ".new")


def set_aside(path: Path, data: bytes, disk: Disk) -> Path:
    """Save the file as it was found under a free name beside it, durably; raises ``WriteRefused``.

    It is sealed as before and opens like any store.
    """
    number = 1
    while (aside := path.with_name(f"{path.name}.damaged-{number}")).exists():
        number += 1
    try:
        file = disk.create(aside)
        try:
            disk.write(file, data, 0)
            disk.sync(file)
        finally:
            disk.close(file)
        disk.sync_directory(path.parent)
    except OSError as error:
        with suppress(OSError):
            os.unlink(aside)
        raise write_refused(error) from None
    return aside


def files_beside(path: Path) -> list[Path]:
    """What the vault may have written beside a store: an unfinished generation and what was set aside."""
    pattern = re.compile(re.escape(path.name) + r"\.(new|damaged-[0-9]+)")
    return sorted(one for one in path.parent.iterdir() if pattern.fullmatch(one.name))


def payloads_of(texts: Iterable[str]) -> Iterator[bytes]:
    """Steps as texts gathered into payloads of about 4 KiB; at least one, be it empty."""
    gathered: list[str] = []
    size = 0
    given = False
    for text in texts:
        if gathered and size + len(text) > PAYLOAD_TARGET:
            yield f"[{','.join(gathered)}]".encode()
            gathered, size, given = [], 0, True
        gathered.append(text)
        size += len(text)
    if gathered or not given:
        yield f"[{','.join(gathered)}]".encode()
