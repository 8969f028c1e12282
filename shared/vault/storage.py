"""TinyDB on the journal: the storage, the table and the database that write only what changed.

TinyDB's own ``Table`` rewrites a whole database for one document. ``SealedTable`` overrides its two private
methods ``_read_table`` and ``_update_table``; ``tests/vault/test_tinydb_range.py`` guards the versions for
which that is right. ``SealedStorage`` keeps TinyDB's two-method seam too, for all that goes through it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from itertools import islice
from typing import Any

from tinydb import TinyDB
from tinydb.queries import QueryLike
from tinydb.storages import Storage
from tinydb.table import Document, Table

from shared.collecting import no_collecting
from shared.vault.documents import Documents, Draft, Step, Tables, copied, parts, same

Append = Callable[[list[str]], None]
_INSERTED_AT_ONCE = 512  # documents


class SealedStorage(Storage):
    """The tables in memory and the one way to change them: transactions, appended before they count."""

    def __init__(self, tables: Tables, append: Append) -> None:
        self._view = tables
        self._append = append
        self._depth = 0
        self._texts: list[str] = []
        self._undo: list[Callable[[], None]] = []

    # -- TinyDB's seam: the whole content at once ----------------------------------------------------

    def read(self) -> dict[str, dict[str, Any]] | None:
        """A copy of everything, so that nobody changes the view by the way; None where nothing is stored."""
        return {name: copied(dict(held)) for name, held in self._view.tables.items()} or None

    def write(self, data: Mapping[str, Mapping[Any, Mapping[str, Any]]]) -> None:
        """Make the content equal to ``data``; only the differences are written."""
        with self.transaction():
            for name in [name for name in self._view.tables if name not in data]:
                self.take((name, None))
            for name, documents in data.items():
                known = self._view.tables.get(name)
                wanted = {str(doc_id): dict(document) for doc_id, document in documents.items()}
                before: Mapping[str, Any] = known or {}
                changes: dict[str, Any] = {key: None for key in before if key not in wanted}
                changes |= {
                    key: document
                    for key, document in wanted.items()
                    if key not in before or not same(document, before[key])
                }
                if changes or known is None:
                    self.take((name, changes))

    # -- transactions --------------------------------------------------------------------------------

    def transaction(self) -> Transaction:
        """All changes inside are one sealed transaction with one sync, or none of them happened.

        Inside another transaction it belongs to the outer one; if it fails, only its own part is taken back.
        """
        return Transaction(self)

    def begin(self) -> tuple[int, int]:
        """How much the transactions under way hold so far."""
        self._depth += 1
        return len(self._texts), len(self._undo)

    def commit(self) -> None:
        """Seal and append what the outermost transaction holds; raises ``WriteRefused``."""
        if self._depth == 1:
            if self._texts:
                self._append(self._texts)
            self._texts, self._undo = [], []
        self._depth -= 1

    def take_back(self, held: tuple[int, int]) -> None:
        """Undo everything since ``begin``, the last change first."""
        texts_before, undo_before = held
        for undo in reversed(self._undo[undo_before:]):
            undo()
        del self._texts[texts_before:], self._undo[undo_before:]
        self._depth -= 1

    def on_undo(self, undo: Callable[[], None]) -> None:
        """Something more to do where the transaction under way is taken back."""
        self._undo.append(undo)

    @property
    def in_transaction(self) -> bool:
        """Whether a transaction is under way."""
        return self._depth > 0

    def take(self, step: Step) -> None:
        """One step of a transaction."""
        for text, changes in parts(step):
            self._undo.append(self._view.take(step[0], changes, text))
            self._texts.append(text)

    def documents(self, name: str) -> Documents | None:
        """The live documents of a table, not to be changed; None where there is no such table."""
        return self._view.tables.get(name)


class Transaction:
    """One ``with`` block; a class, because every tap passes through two of them."""

    __slots__ = ("_held", "_storage")

    def __init__(self, storage: SealedStorage) -> None:
        self._storage = storage

    def __enter__(self) -> None:
        self._held = self._storage.begin()

    def __exit__(self, failed: type[BaseException] | None, *_: object) -> None:
        if failed is not None:
            self._storage.take_back(self._held)
            return
        try:
            self._storage.commit()
        except BaseException:
            self._storage.take_back(self._held)
            raise


class SealedTable(Table):
    """A TinyDB table whose reads are copies and whose updates seal only the changed documents."""

    _storage: SealedStorage
    _next_id: int | None  # type: ignore[assignment]

    def _read_table(self) -> Mapping[str, Mapping[str, Any]]:  # type: ignore[override]
        return self._storage.documents(self.name) or {}

    def _update_table(self, updater: Callable[[dict[int, Mapping[str, Any]]], None]) -> None:
        documents = self._storage.documents(self.name)
        draft = Draft(documents or {})
        with self._storage.transaction():
            self._storage.on_undo(partial(self._forget, self._next_id))
            updater(draft)  # type: ignore[arg-type]
            for step in draft.steps(self.name, known=documents is not None):
                self._storage.take(step)
        self.clear_cache()

    def _forget(self, next_id: int | None) -> None:
        """Drop what was worked out from documents that are taken back."""
        self._next_id = next_id
        self.clear_cache()

    def insert(self, document: Mapping[str, Any]) -> int:
        """As TinyDB's; it draws the id before it writes, so a refusal must take back both."""
        with self._storage.transaction():
            self._storage.on_undo(partial(self._forget, self._next_id))
            return super().insert(document)

    def insert_multiple(self, documents: Iterable[Mapping[str, Any]]) -> list[int]:
        """As TinyDB's, a slice at a time: of a quarter of a million documents none needs a second copy."""
        ids: list[int] = []
        waiting = iter(documents)
        with self._storage.transaction(), no_collecting():
            part = list(islice(waiting, _INSERTED_AT_ONCE))
            ids += super().insert_multiple(part)  # be it of none: then the table stands
            while part := list(islice(waiting, _INSERTED_AT_ONCE)):
                ids += super().insert_multiple(part)
        return ids

    def live(self) -> Iterator[tuple[int, Mapping[str, Any]]]:
        """Ids and documents without copies, for reading many at once: never change what you get."""
        documents = self._read_table()
        # Two plain lists: half a million small tuples would keep Python's collector busy for a second.
        for doc_id, document in zip(list(documents), list(documents.values()), strict=True):
            yield int(doc_id), document

    def search(self, cond: QueryLike) -> list[Document]:
        """As TinyDB's, with documents of the caller's own."""
        return [_own(document) for document in super().search(cond)]

    def get(self, *args: Any, **named: Any) -> Any:
        """As TinyDB's, with documents of the caller's own."""
        found = super().get(*args, **named)
        if isinstance(found, list):
            return [_own(document) for document in found]
        return None if found is None else _own(found)

    def __iter__(self) -> Iterator[Document]:
        for doc_id, document in self.live():
            yield Document(copied(document), doc_id)


def _own(document: Document) -> Document:
    return Document(copied(dict(document)), document.doc_id)


class SealedDB(TinyDB):
    """TinyDB with sealed tables."""

    table_class = SealedTable

    def table(self, name: str, **settings: Any) -> SealedTable:
        """As TinyDB's: the one table object of that name."""
        table = super().table(name, **settings)
        assert isinstance(table, SealedTable)
        return table

    def tables(self) -> set[str]:
        """The names of all tables, without copying them."""
        storage = self.storage
        assert isinstance(storage, SealedStorage)
        return set(storage._view.tables)


def steps_of(tables: Mapping[str, Documents]) -> Iterable[Step]:
    """Everything that stands in the tables, as the steps that make it."""
    for name, documents in tables.items():
        yield name, dict(documents)
