"""What the vault's tests share: a passphrase, a cheap cost, a disk that can be told to fail."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from shared.vault import CHEAP, Vault
from shared.vault.disk import Disk

PASSPHRASE = "four unrelated paper words"


class MemorySpeedDisk(Disk):
    """Writes files but waits for no medium: for tests that open thousands of stores."""

    def sync(self, file: int) -> None:
        pass

    def sync_directory(self, directory: Path) -> None:
        pass

    def reserve(self, file: int, at: int, size: int) -> None:
        pass


class FaultyDisk(Disk):
    """Counts every call; ``fail[name]`` is raised once for each call of that name while it is set."""

    def __init__(self) -> None:
        self.fail: dict[str, OSError | None] = {}
        self.calls: list[str] = []
        self.torn_bytes: int | None = None

    def _call(self, name: str) -> None:
        self.calls.append(name)
        error = self.fail.get(name)
        if error is not None:
            raise error

    def write(self, file: int, data: bytes, at: int) -> None:
        if self.fail.get("write") is not None and self.torn_bytes is not None:
            super().write(file, data[: self.torn_bytes], at)
        self._call("write")
        super().write(file, data, at)

    def sync(self, file: int) -> None:
        self._call("sync")
        super().sync(file)

    def truncate(self, file: int, size: int) -> None:
        self._call("truncate")
        super().truncate(file, size)

    def reserve(self, file: int, at: int, size: int) -> None:
        self._call("reserve")
        Disk().reserve(file, at, size)

    def replace(self, new: Path, old: Path) -> None:
        self._call("replace")
        super().replace(new, old)

    def sync_directory(self, directory: Path) -> None:
        self._call("sync_directory")
        super().sync_directory(directory)

    def create(self, path: Path) -> int:
        self._call("create")
        return super().create(path)

    def open(self, path: Path) -> int:
        self._call("open")
        return super().open(path)


@pytest.fixture
def passphrase() -> str:
    return PASSPHRASE


@pytest.fixture
def quick_disk() -> Disk:
    return MemorySpeedDisk()


@pytest.fixture
def faulty_disk() -> FaultyDisk:
    return FaultyDisk()


@pytest.fixture
def seeded() -> Callable[[int], bytes]:
    """Randomness that repeats."""
    return random.Random(20260820).randbytes


@pytest.fixture
def new_vault(tmp_path: Path) -> Iterator[Callable[..., Vault]]:
    """Makes stores in the test's own folder, cheaply sealed; closes them all afterwards."""
    made: list[Vault] = []

    def make(name: str = "station.store", **said: Any) -> Vault:
        settings = {"kind": "tablet", "passphrase": PASSPHRASE, "cost": CHEAP, **said}
        made.append(Vault.create(tmp_path / name, **settings))
        return made[-1]

    yield make
    for vault in made:
        vault.close()


@pytest.fixture
def reopened() -> Iterator[Callable[..., Vault]]:
    """Closes a store and opens it again."""
    opened: list[Vault] = []

    def reopen(vault: Vault, **said: Any) -> Vault:
        vault.close()
        opened.append(Vault.open(vault.path, **{"passphrase": PASSPHRASE, **said}))
        return opened[-1]

    yield reopen
    for vault in opened:
        vault.close()


@pytest.fixture
def content() -> Callable[[Vault], dict[str, Any]]:
    """Everything in a store, order included."""

    def everything(vault: Vault) -> dict[str, Any]:
        return {
            name: [(document.doc_id, dict(document)) for document in vault.table(name)]
            for name in sorted(vault.db.tables())
        }

    return everything
