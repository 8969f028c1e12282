"""The disk of Windows against a stand-in for its calls: the same promises without any call that only POSIX has.

Windows itself was not at hand. What its calls are told is checked against Microsoft's documented layout of
FILE_RENAME_INFO (winbase.h, 64 bits; from memory); that they then do it is not.
"""

from __future__ import annotations

import ctypes
import fcntl
import os
from pathlib import Path

import pytest

from shared.errors import StoreBusy, WriteRefused
from shared.vault import CHEAP, Vault
from shared.vault.windows_disk import LOCKED_BYTE, WindowsDisk, rename_info, windows_calls

PASSPHRASE = "four unrelated paper words"
ONLY_POSIX = ("pread", "pwrite", "fdatasync", "O_DIRECTORY", "O_CLOEXEC")


class StandIn:
    """The three calls, by POSIX; ``in_the_way`` makes a rename fail as on a file that somebody else holds."""

    def __init__(self) -> None:
        self.in_the_way = False

    def open(self, path: Path, *, new: bool) -> int:
        return os.open(path, os.O_RDWR | (os.O_CREAT | os.O_EXCL if new else 0))

    def lock(self, file: int, at: int) -> None:
        assert at == LOCKED_BYTE
        os.lseek(file, at, os.SEEK_SET)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            raise PermissionError from None  # as ``msvcrt.locking`` says it

    def replace(self, new: Path, old: Path) -> None:
        if self.in_the_way:
            raise PermissionError(13, "in use")
        os.replace(new, old)


@pytest.fixture
def calls(monkeypatch):
    for name in ONLY_POSIX:
        monkeypatch.delattr(os, name)
    return StandIn()


def opened(path: Path, calls: StandIn) -> Vault:
    return Vault.open(path, passphrase=PASSPHRASE, disk=WindowsDisk(calls))


def test_a_store_lives_its_life(tmp_path, calls):
    path = tmp_path / "station.store"
    vault = Vault.create(path, kind="tablet", passphrase=PASSPHRASE, cost=CHEAP, disk=WindowsDisk(calls))
    for number in range(40):
        vault.table("entries").insert({"number": number})
    with pytest.raises(StoreBusy):
        opened(path, calls)
    vault.compact()
    vault.table("entries").insert({"number": 40})
    vault.close()
    with opened(path, calls) as again:
        assert [document["number"] for document in again.table("entries")] == list(range(41))
        assert not again.notices


def test_a_snapshot_that_cannot_take_its_place_leaves_the_store_as_it_was(tmp_path, calls):
    path = tmp_path / "station.store"
    with Vault.create(
        path, kind="tablet", passphrase=PASSPHRASE, cost=CHEAP, disk=WindowsDisk(calls)
    ) as vault:
        vault.table("entries").insert({"number": 1})
        calls.in_the_way = True
        with pytest.raises(WriteRefused):
            vault.compact()
        vault.table("entries").insert({"number": 2})
    with opened(path, calls) as again:
        assert [document["number"] for document in again.table("entries")] == [1, 2]
    assert [file.name for file in tmp_path.iterdir()] == ["station.store"]


def test_a_torn_write_is_taken_back(tmp_path, calls):
    path = tmp_path / "station.store"
    disk = WindowsDisk(calls)
    with Vault.create(path, kind="tablet", passphrase=PASSPHRASE, cost=CHEAP, disk=disk) as vault:
        vault.table("entries").insert({"number": 1})
    with path.open("ab") as file:
        file.write(bytes(10) + b"half a frame")
    with opened(path, calls) as again:
        assert [document["number"] for document in again.table("entries")] == [1]


def test_the_name_is_given_as_windows_documents_it():
    info = rename_info("C:\\stores\\ñ.store")
    whole = type(info)
    assert [getattr(whole, name).offset for name, _ in whole._fields_] == [0, 8, 16, 20]
    raw = bytes(info)
    assert raw[:4] == (3).to_bytes(4, "little")  # replace, with POSIX semantics
    length = int.from_bytes(raw[16:20], "little")
    assert raw[20 : 20 + length].decode("utf-16-le") == "C:\\stores\\ñ.store"
    assert raw[20 + length : 22 + length] == b"\0\0"
    assert ctypes.sizeof(info) >= 22 + length


def test_nobody_takes_this_for_windows_by_mistake():
    with pytest.raises(OSError, match="not Windows"):
        windows_calls()
