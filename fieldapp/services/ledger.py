"""The ledger: one vault, its register and its scribe kept in step. An entry is durable before it counts.

Both the tablet's ``Station`` and the lead's ``Desk`` stand on it. What is said about the store itself (device,
names, keys) is one document in the vault's ``about`` table; the entries are the ``entries`` table.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from tinydb.table import Document

from fieldapp.platform.clock import Clock
from shared.collecting import no_collecting
from shared.errors import ForeignFile, WriteRefused
from shared.records.entries import Entry, Kind
from shared.records.register import Register
from shared.records.scribe import Scribe
from shared.vault import Vault

Draft = tuple[Kind, Mapping[str, Any]]


class Ledger:
    """All that one device has written and taken in, in memory and on disk alike."""

    def __init__(self, vault: Vault, clock: Clock) -> None:
        self.vault = vault
        self.clock = clock
        self.author = ""
        document = vault.table("about").get(doc_id=1)
        self.about: dict[str, Any] = dict(document) if isinstance(document, Mapping) else {}
        self.author = str(self.about.get("screener", ""))
        self.register = Register()
        self._scribe = Scribe(str(self.about.get("device", "")), str(self.about.get("visit", "")))
        with no_collecting():
            self._count(Entry.from_document(document) for _, document in vault.table("entries").live())

    @classmethod
    def begin(cls, vault: Vault, clock: Clock, about: Mapping[str, Any]) -> Ledger:
        """A ledger on a new, empty vault; ``about`` names at least ``device`` and ``visit``."""
        vault.table("about").insert(Document(dict(about), doc_id=1))
        return cls(vault, clock)

    @classmethod
    def open(cls, path: Path, passphrase: str, clock: Clock, *, kind: str, otherwise: ForeignFile) -> Ledger:
        """The ledger of a store; raises ``otherwise`` where it is of another kind, and the vault's errors."""
        vault = Vault.open(path, passphrase=passphrase)
        if vault.kind != kind:
            vault.close()
            raise otherwise
        try:
            return cls(vault, clock)
        except BaseException:
            vault.close()  # else nobody could open it again before the program ends
            raise

    @property
    def device(self) -> str:
        """The id of this device."""
        return self._scribe.device

    @property
    def counter(self) -> int:
        """The counter of this device's newest entry."""
        return self._scribe.counter

    def write(self, *drafts: Draft) -> list[Entry]:
        """Write entries of this device's own, all in one durable step.

        Raises ``WriteRefused`` where the disk takes no more; then nothing has changed.
        """
        now = self.clock.now()
        written: list[Entry] = []
        try:
            for kind, body in drafts:
                written.append(self._scribe.write(kind, body, author=self.author, now=now))
            self._store(written)
        except BaseException:
            for entry in reversed(written):
                self._scribe.forget(entry)
            raise
        self.register.add(written)
        return written

    def take_in(self, entries: Iterable[Entry], about: Mapping[str, Any] | None = None) -> list[Entry]:
        """Take in other devices' entries and, in the same durable step, news about the store.

        Gives the entries that were new. A known entry, or a variant known already, adds nothing.
        """
        news: dict[str, Entry] = {}
        variants: dict[str, list[Entry]] = {}
        for entry in filter(self.register.is_news, entries):
            first = news.setdefault(entry.id, entry)
            if first is not entry and first != entry and entry not in variants.setdefault(entry.id, []):
                variants[entry.id].append(entry)
        fresh = [*news.values(), *(entry for others in variants.values() for entry in others)]
        changed = {**self.about, **(about or {})}
        with self.vault.transaction():
            self.vault.table("entries").insert_multiple(entry.to_document() for entry in fresh)
            if about is not None:
                self._store_about(changed)
        self.about = changed  # only what is durable: the disk may have refused it all
        self._count(fresh)
        return fresh

    def tell(self, **news: Any) -> None:
        """Change what is said about the store itself."""
        changed = {**self.about, **news}
        self._store_about(changed)
        self.about = changed

    def tidy(self) -> None:
        """Compact the vault where it has grown; called between children, never between taps.

        Where the disk has no room for it, the vault stays as it is and the next call tries again.
        """
        if self.vault.should_compact():
            with suppress(WriteRefused):
                self.vault.compact()

    def close(self) -> None:
        """Close the vault; the ledger must not be used after."""
        self.vault.close()

    def _store(self, entries: list[Entry]) -> None:
        table = self.vault.table("entries")
        if len(entries) == 1:
            table.insert(entries[0].to_document())
        else:
            table.insert_multiple([entry.to_document() for entry in entries])

    def _store_about(self, changed: Mapping[str, Any]) -> None:
        self.vault.table("about").upsert(Document(dict(changed), doc_id=1))

    def _count(self, entries: Iterable[Entry]) -> None:
        entries = list(entries)
        self.register.add(entries)
        for entry in entries:
            self._scribe.notice(entry)
