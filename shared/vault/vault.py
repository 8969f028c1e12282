"""The vault: one encrypted store, opened by a passphrase or by the lead's key. The face of this package.

Create, open, write in transactions, compact, change the passphrase, wipe. What lies below: ``header`` and
``frames`` (bytes), ``journal`` (the file), ``documents`` and ``storage`` (the tables), ``keys``.
"""

from __future__ import annotations

import os
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from shared.collecting import no_collecting
from shared.errors import Damaged, NewerVersion, Refused, WriteRefused
from shared.vault import frames, header, journal, keys, passphrases, selftest
from shared.vault.disk import Disk, not_opened, open_locked, this_disk
from shared.vault.documents import Tables, steps_in, texts
from shared.vault.frames import Reading
from shared.vault.header import JOURNAL_START, FoundHeader, Header
from shared.vault.journal import Journal
from shared.vault.keys import Cost, PassphraseKey, Random
from shared.vault.storage import SealedDB, SealedStorage, SealedTable, Transaction, steps_of

# Below this many changes since the last snapshot, opening is quick anyway.
_FEW_FRAMES = 1000


class Vault:
    """An open store, for one thread of one process.

    ``notices`` holds whole sentences about what opening had to mend, for the person at the screen.
    """

    def __init__(
        self,
        file: Journal,
        tables: Tables,
        store_key: bytes,
        passphrase_key: PassphraseKey | None,
        random: Random,
    ) -> None:
        self.notices: list[str] = []
        self._journal = file
        self._tables = tables
        self._store_key = store_key
        self._passphrase_key = passphrase_key
        self._random = random
        self._storage = SealedStorage(tables, self._append)
        self.db = SealedDB(storage=lambda: self._storage)
        self._open = True

    # -- creating and opening ------------------------------------------------------------------------

    @classmethod
    def create(
        cls,
        path: str | os.PathLike[str],
        *,
        kind: str,
        passphrase: str,
        lead_public_key: bytes | None = None,
        random: Random = os.urandom,
        cost: Cost | None = None,
        disk: Disk | None = None,
    ) -> Vault:
        """A new, empty store of kind ``tablet`` or ``book``; never in the place of another file.

        Raises ``WeakPassphrase`` and ``WriteRefused``.
        """
        if kind not in header.KINDS:
            raise ValueError("a store is a tablet or a book")
        passphrases.require(passphrase)
        selftest.run_once()
        disk = disk or this_disk()
        place = Path(os.path.realpath(path))
        if os.path.lexists(place):
            raise not_opened(FileExistsError())
        store_key = random(keys.KEY_BYTES)
        passphrase_key = PassphraseKey.make(passphrase, cost or keys.usual_cost(), random)
        head = Header(kind, random(16), random(16), ())
        slots = [passphrase_key.wrap(store_key, random, context=head.context)]
        if lead_public_key is not None:
            slots.append(keys.wrap_for_lead(store_key, lead_public_key, context=head.context))
        head = replace(head, slots=tuple(slots))
        file = Journal.created_beside(place, head, store_key, (), disk=disk, random=random)
        return cls(file, Tables(), store_key, passphrase_key, random)

    @classmethod
    def open(
        cls,
        path: str | os.PathLike[str],
        *,
        passphrase: str | None = None,
        lead_private_key: bytes | None = None,
        random: Random = os.urandom,
        disk: Disk | None = None,
    ) -> Vault:
        """Open a store, mending what a crash or damage left; see ``notices`` afterwards.

        Raises ``WrongPassphrase``, ``Damaged``, ``ForeignFile``, ``NewerVersion``, ``StoreBusy`` and
        ``WriteRefused``; the file is then as it was.
        """
        if (passphrase is None) == (lead_private_key is None):
            raise ValueError("open with a passphrase or with the lead's key")
        selftest.run_once()
        disk = disk or this_disk()
        place = Path(os.path.realpath(path))
        try:
            file = open_locked(disk, place)
        except OSError as error:
            raise not_opened(error) from None
        try:
            return cls._opened(place, file, passphrase, lead_private_key, random, disk)
        except OSError as error:
            disk.close(file)
            raise not_opened(error) from None
        except BaseException:
            with suppress(OSError):
                disk.close(file)
            raise

    @classmethod
    def _opened(
        cls,
        place: Path,
        file: int,
        passphrase: str | None,
        lead_key: bytes | None,
        random: Random,
        disk: Disk,
    ) -> Vault:
        data = disk.read(file)
        found = header.find(data)
        head = found.header
        store_key, passphrase_key = _unlocked(head, passphrase, lead_key)
        found.require_key(store_key)
        sealer = journal.sealer_for(head, store_key)
        reading = frames.read(data, JOURNAL_START, sealer)
        tables = Tables()
        _replay(reading, tables)
        opened = Journal(place, file, head, store_key, reading, disk=disk, random=random)
        opened.frames_since_snapshot = reading.transactions
        vault = cls(opened, tables, store_key, passphrase_key, random)
        with suppress(OSError):
            os.unlink(journal.new_generation_path(place))  # a compaction that a crash broke off
        vault._mend(data, reading, found, disk)
        return vault

    def _mend(self, data: bytes, reading: Reading, found: FoundHeader, disk: Disk) -> None:
        """Bring the file in order; what is cut away and was not merely torn is set aside and told."""
        if not found.both_same:
            head = self._journal.header
            self._journal.write_header(replace(head, turn=head.turn + 1))
        if not found.both_whole:
            self.notices.append("One of the two copies of the file's head was damaged; it has been mended.")
        if reading.gaps:
            aside = journal.set_aside(self.path, data, disk)
            try:
                self.compact()
            except WriteRefused:
                with suppress(OSError):
                    aside.unlink()
                raise
            self.notices.append(
                f"Part of the store was damaged: at least {reading.lost} saved change(s) could not be read. "
                f"All others are kept. The damaged file was set aside as {aside.name}."
            )
        elif reading.tail == frames.DAMAGED:
            aside = journal.set_aside(self.path, data, disk)
            self._journal.cut_tail()
            self.notices.append(
                "The end of the store could not be read: the last change may be missing. "
                f"The file as it was found was set aside as {aside.name}."
            )
        elif reading.tail == frames.TORN:
            self._journal.cut_tail()

    # -- use -----------------------------------------------------------------------------------------

    @property
    def path(self) -> Path:
        """Where the store stands."""
        return self._journal.path

    @property
    def kind(self) -> str:
        """``tablet`` or ``book``."""
        return self._journal.header.kind

    @property
    def store_id(self) -> str:
        """The store's own random id, 32 hexadecimal digits."""
        return self._journal.header.store.hex()

    def table(self, name: str) -> SealedTable:
        """The TinyDB table of that name; its ``live()`` reads many documents without copying them."""
        return self.db.table(name)

    def transaction(self) -> Transaction:
        """All changes inside are one sealed transaction, durable when the block ends; an exception undoes it."""
        return self._storage.transaction()

    def _append(self, steps: list[str]) -> None:
        if not self._open:
            raise Refused("The store is closed.", kept="Nothing was changed.", todo="Open it again.")
        self._journal.append(journal.payloads_of(steps))

    # -- upkeep --------------------------------------------------------------------------------------

    def should_compact(self) -> bool:
        """Whether so much was appended since the last snapshot that writing a new one pays."""
        documents = sum(map(len, self._tables.tables.values()))
        return self._journal.frames_since_snapshot >= max(_FEW_FRAMES, documents // 2)

    def compact(self) -> None:
        """Replace the journal by a snapshot of what it says. Between children, never between taps.

        Draws a new store key where the passphrase is known: who kept an old copy of the file and knows an old
        passphrase cannot read what is written from here on.
        """
        if self._storage.in_transaction:
            raise RuntimeError("compact between transactions")
        head = self._journal.header
        store_key = self._store_key
        if self._passphrase_key is not None:
            store_key = self._random(keys.KEY_BYTES)
            slots = [self._passphrase_key.wrap(store_key, self._random, context=head.context)]
            lead = head.slot("lead")
            if lead is not None:
                public_key = bytes.fromhex(lead["public_key"])
                slots.append(keys.wrap_for_lead(store_key, public_key, context=head.context))
            head = replace(head, slots=tuple(slots))
        head = replace(head, journal=self._random(16), turn=head.turn + 1)
        everything = (text for step in steps_of(self._tables.tables) for text in texts(step))
        with no_collecting():
            payloads = journal.payloads_of(everything)
            self._journal = self._journal.replaced_by(head, store_key, payloads)
        self._store_key = store_key

    def change_passphrase(self, old: str | None, new: str, *, cost: Cost | None = None) -> None:
        """Put a new passphrase in force at once; the data stays where it is.

        ``old`` may be None only where the lead's key opened the store: that is how a forgotten passphrase is
        replaced. Raises ``WrongPassphrase`` for the old one, ``WeakPassphrase`` for the new one.
        """
        head = self._journal.header
        slot = head.slot("passphrase")
        if old is None:
            if self._passphrase_key is not None:
                raise keys.wrong_passphrase()
        elif slot is not None:
            old_key = keys.passphrase_key(slot, old)
            old_key.unwrap(slot, context=head.context)
            cost = cost or old_key.cost
        passphrases.require(new)
        new_key = PassphraseKey.make(new, cost or keys.usual_cost(), self._random)
        new_slot = new_key.wrap(self._store_key, self._random, context=head.context)
        self._journal.write_header(head.with_slot(new_slot))
        self._passphrase_key = new_key

    def close(self) -> None:
        """Close the file; a second call does nothing."""
        if self._open:
            self._open = False
            self._journal.close()

    def __enter__(self) -> Vault:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @staticmethod
    def wipe(path: str | os.PathLike[str]) -> None:
        """Delete a store and everything set aside beside it, the key slots first. Needs no passphrase.

        Raises ``ForeignFile`` for a file that is no store; a damaged store may be wiped.
        """
        place = Path(os.path.realpath(path))
        with suppress(Damaged, NewerVersion):
            kind_of(place)
        disk = this_disk()
        try:
            # The store itself goes last: what a crash leaves can still be wiped.
            for one in (*journal.files_beside(place), place):
                file = open_locked(disk, one)
                try:
                    disk.write(file, os.urandom(JOURNAL_START), 0)
                    disk.sync(file)
                    one.unlink()
                finally:
                    disk.close(file)
            disk.sync_directory(place.parent)
        except OSError as error:
            raise not_opened(error) from None


def kind_of(path: str | os.PathLike[str]) -> str:
    """``tablet`` or ``book``, without a passphrase.

    Raises ``ForeignFile``, ``Damaged`` or ``NewerVersion``.
    """
    try:
        with open(path, "rb") as file:
            return header.find(file.read(JOURNAL_START)).header.kind
    except OSError as error:
        raise not_opened(error) from None


def _unlocked(
    head: Header, passphrase: str | None, lead_key: bytes | None
) -> tuple[bytes, PassphraseKey | None]:
    slot = head.slot("passphrase" if passphrase is not None else "lead")
    if slot is None:
        raise keys.wrong_passphrase()
    if passphrase is not None:
        passphrase_key = keys.passphrase_key(slot, passphrase)
        return passphrase_key.unwrap(slot, context=head.context), passphrase_key
    assert lead_key is not None
    return keys.unwrap_with_lead_key(slot, lead_key, context=head.context), None


def _replay(reading: Reading, tables: Tables) -> None:
    try:
        with no_collecting():
            for steps in steps_in(reading.payloads):
                for name, changes in steps:
                    tables.apply(name, changes)
    except (TypeError, ValueError, AttributeError, RecursionError):
        raise Damaged(
            "The store opens but what it holds cannot be understood.",
            kept="The file was left as it is.",
            todo="Open it with the newest Quietbell.",
        ) from None
