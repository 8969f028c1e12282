"""TinyDB's table on the sealed journal against TinyDB's own MemoryStorage, step by step, crashes included.

The model is TinyDB itself: whatever a sequence of documented operations gives there, it must give here, and
again after the store was closed, killed, compacted or refused by its disk in between.
"""

from __future__ import annotations

import errno
import shutil
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, precondition, rule
from tinydb import TinyDB, where
from tinydb.operations import add, decrement, delete, increment
from tinydb.operations import set as set_to
from tinydb.storages import MemoryStorage
from tinydb.table import Document

from shared.errors import WriteRefused
from shared.vault import CHEAP, Vault
from shared.vault.disk import Disk

PASSPHRASE = "four unrelated paper words"

names = st.sampled_from(["entries", "settings", "_default"])
fields = st.sampled_from(["ear", "hz", "note"])
# Few values, and those that Python calls equal although JSON does not.
plain = st.sampled_from([None, False, 0, 0.0, -0.0, True, 1, 1.0, "", "1", "\ud800"])
values = plain | st.lists(plain, max_size=3) | st.dictionaries(st.text(max_size=2), plain, max_size=2)
documents = st.dictionaries(fields, values, max_size=3)
numbers = st.integers(1, 8)


class StallingDisk(Disk):
    """A disk without waiting, full on demand."""

    def __init__(self) -> None:
        self.full = False

    def write(self, file: int, data: bytes, at: int) -> None:
        if self.full:
            super().write(file, data[: len(data) // 2], at)
            raise OSError(errno.ENOSPC, "no space")
        super().write(file, data, at)

    def sync(self, file: int) -> None:
        pass

    def sync_directory(self, directory: Path) -> None:
        pass


class SealedTinyDB(RuleBasedStateMachine):
    @initialize()
    def begin(self) -> None:
        self.folder = Path(tempfile.mkdtemp())
        self.disk = StallingDisk()
        self.path = self.folder / "station.store"
        self.vault = Vault.create(self.path, kind="tablet", passphrase=PASSPHRASE, cost=CHEAP, disk=self.disk)
        self.model = TinyDB(storage=MemoryStorage)

    def both(self, name: str, act: Any) -> None:
        """Do the same to both; the same result or the same kind of error."""
        before = self.held()
        results = []
        for database in (self.model, self.vault.db):
            try:
                results.append(act(database.table(name)))
            except (ValueError, KeyError, TypeError) as error:
                # MemoryStorage keeps what an updater changed before it failed, ours does not (see test_faults):
                # the model is put back from ours.
                results.append(type(error))
        assert results[0] == results[1]
        if isinstance(results[0], type):
            assert repr(self.held()) == repr(before)
            self._model_from_vault()

    @rule(name=names, document=documents)
    def insert(self, name: str, document: dict[str, Any]) -> None:
        self.both(name, lambda table: table.insert(document))

    @rule(name=names, document=documents, number=numbers)
    def insert_with_id(self, name: str, document: dict[str, Any], number: int) -> None:
        self.both(name, lambda table: table.insert(Document(document, doc_id=number)))

    @rule(name=names, several=st.lists(documents, max_size=4))
    def insert_multiple(self, name: str, several: list[dict[str, Any]]) -> None:
        self.both(name, lambda table: table.insert_multiple(several))

    @rule(name=names, document=documents, field=fields, value=values)
    def update(self, name: str, document: dict[str, Any], field: str, value: Any) -> None:
        self.both(name, lambda table: table.update(document, where(field) == value))

    @rule(name=names, document=documents)
    def update_all(self, name: str, document: dict[str, Any]) -> None:
        self.both(name, lambda table: table.update(document))

    @rule(name=names, document=documents, wanted=st.lists(numbers, max_size=3))
    def update_by_id(self, name: str, document: dict[str, Any], wanted: list[int]) -> None:
        self.both(name, lambda table: table.update(document, doc_ids=wanted))

    @rule(name=names, field=fields, value=plain, number=numbers)
    def update_by_operation(self, name: str, field: str, value: Any, number: int) -> None:
        for operation in (
            set_to(field, value),
            add(field, 1),
            increment(field),
            decrement(field),
            delete(field),
        ):
            self.both(name, lambda table, op=operation: table.update(op, where(field).exists()))

    @rule(name=names, one=documents, other=documents, field=fields)
    def update_multiple(self, name: str, one: dict[str, Any], other: dict[str, Any], field: str) -> None:
        pairs = [(one, where(field).exists()), (other, where("ear") == 1)]
        self.both(name, lambda table: table.update_multiple(pairs))

    @rule(name=names, document=documents, field=fields, value=values)
    def upsert(self, name: str, document: dict[str, Any], field: str, value: Any) -> None:
        self.both(name, lambda table: table.upsert(document, where(field) == value))

    @rule(name=names, document=documents, number=numbers)
    def upsert_by_id(self, name: str, document: dict[str, Any], number: int) -> None:
        self.both(name, lambda table: table.upsert(Document(document, doc_id=number)))

    @rule(name=names, field=fields, value=values)
    def remove(self, name: str, field: str, value: Any) -> None:
        self.both(name, lambda table: table.remove(where(field) == value))

    @rule(name=names, wanted=st.lists(numbers, max_size=3, unique=True))
    def remove_by_id(self, name: str, wanted: list[int]) -> None:
        self.both(name, lambda table: table.remove(doc_ids=wanted))

    @rule(name=names)
    def truncate(self, name: str) -> None:
        self.both(name, lambda table: table.truncate())

    @rule(name=names)
    def drop_table(self, name: str) -> None:
        self.model.drop_table(name)
        self.vault.db.drop_table(name)

    @rule()
    def drop_tables(self) -> None:
        self.model.drop_tables()
        self.vault.db.drop_tables()

    @rule(name=names, field=fields, value=values, number=numbers)
    def read(self, name: str, field: str, value: Any, number: int) -> None:
        query = where(field) == value
        for look in (
            lambda table: table.search(query),
            lambda table: table.get(query),
            lambda table: table.get(doc_id=number),
            lambda table: table.get(doc_ids=[number, number + 1]),
            lambda table: table.contains(query),
            lambda table: table.contains(doc_id=number),
            lambda table: table.count(query),
            len,
            list,
        ):
            self.both(name, look)

    @rule(name=names)
    def change_what_was_read(self, name: str) -> None:
        """A document belongs to who read it: changing it changes nothing in the store."""
        for found in self.vault.table(name).all() + self.vault.table(name).search(where("ear").exists()):
            for value in found.values():
                if isinstance(value, list):
                    value.append("changed")
            found["changed"] = True

    @rule(several=st.lists(documents, min_size=1, max_size=3), fails=st.booleans())
    def transaction(self, several: list[dict[str, Any]], fails: bool) -> None:
        try:
            with self.vault.transaction():
                self.vault.table("entries").insert_multiple(several)
                self.vault.table("settings").update({"note": 1})
                if fails:
                    self.vault.table("entries").remove(doc_ids=[1, 2, 3])
                    self.vault.table("settings").remove(where("note") == 1)
                    self.vault.table("new").insert({})
                    self.vault.table("settings").truncate()
                self.vault.db.drop_table("_default")
                if fails:
                    raise LookupError
        except LookupError:
            return
        self.model.table("entries").insert_multiple(several)
        self.model.table("settings").update({"note": 1})
        self.model.drop_table("_default")

    @rule(name=names, document=documents)
    def refused(self, name: str, document: dict[str, Any]) -> None:
        """A full disk: nothing changes, neither in the view nor after a kill."""
        self.disk.full = True
        try:
            self.vault.table(name).insert({**document, "lost": True})
        except WriteRefused:
            pass
        else:
            raise AssertionError("a write on a full disk must be refused")
        finally:
            self.disk.full = False

    @rule()
    def kill(self) -> None:
        """The process dies: the file stays as it is, nothing is closed in order."""
        copy = self.folder / "after the kill"
        shutil.copyfile(self.path, copy)
        self.vault.close()
        copy.replace(self.path)
        self._open()

    @rule(torn=st.integers(1, 400))
    def kill_in_a_write(self, torn: int) -> None:
        """The process dies while a tap that nobody was told about was being written."""
        before = self.vault._journal._end
        self.vault.table("entries").insert({"never": "acknowledged"})
        written = self.path.read_bytes()[: before + min(torn, self.vault._journal._end - before - 1)]
        self.vault.close()
        self.path.write_bytes(written)
        self._open()

    @rule()
    def compact(self) -> None:
        self.vault.compact()

    def _open(self) -> None:
        self.vault = Vault.open(self.path, passphrase=PASSPHRASE, disk=self.disk)
        assert self.vault.notices == []
        self._model_from_vault(same=True)

    def held(self) -> dict[str, dict[str, Any]]:
        """Everything in our store, in its order."""
        return {
            name: {str(document.doc_id): dict(document) for document in self.vault.table(name)}
            for name in sorted(self.vault.db.tables())
        }

    def _model_from_vault(self, same: bool = False) -> None:
        """A model that, like the reopened store, has no memory of ids once used; same content if ``same``."""
        held = self.held()
        if same:
            assert held == (self.model.storage.read() or {})
            for name, kept in held.items():
                assert list(kept) == list(self.model.storage.read()[name])
        self.model = TinyDB(storage=MemoryStorage)
        if held:
            self.model.storage.write(held)
        for table in self.vault.db._tables.values():
            table._forget(None)

    @invariant()
    @precondition(lambda self: hasattr(self, "vault"))
    def alike(self) -> None:
        assert self.vault.db.tables() == self.model.tables()
        for name in self.model.tables():
            ours, theirs = self.vault.table(name).all(), self.model.table(name).all()
            assert repr(ours) == repr(theirs)
            assert [one.doc_id for one in ours] == [one.doc_id for one in theirs]

    def teardown(self) -> None:
        if hasattr(self, "vault"):
            self.vault.close()
            shutil.rmtree(self.folder)


SealedTinyDB.TestCase.settings = settings(max_examples=25, stateful_step_count=30, deadline=None)
TestSealedTinyDB = SealedTinyDB.TestCase
