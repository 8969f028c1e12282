"""Every crash that can be staged: kills, power cuts, a day's journal cut at every byte, every byte flipped.

The short forms run always. The long ones: ``pytest tests/vault -m long`` (some minutes) and
``python tests/vault/kills.py --kills 1000``.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from shared.errors import QuietbellError
from shared.vault import CHEAP, Vault, frames, header, journal
from shared.vault.disk import Disk
from shared.vault.documents import steps_in
from shared.vault.header import BLOCK_BYTES, JOURNAL_START

SECTOR = 512


def entries_of_a_day(children: int) -> list[dict[str, Any]]:
    """Documents of the size and shape that a screening day writes, one a tap."""
    day: list[dict[str, Any]] = []

    def note(kind: str, **body: Any) -> None:
        number = len(day) + 1
        day.append(
            {
                "id": f"{number}@tablet-3",
                "stamp": f"{number:012x}-0000-tablet-3",
                "at": f"2026-09-14T{8 + number // 3600:02d}:{number // 60 % 60:02d}:{number % 60:02d}-05:00",
                "author": "MK",
                "visit": "1@lead",
                "kind": kind,
                "body": body,
            }
        )

    for child in range(children):
        note("screening-begun", child=f"{child}@lead", level_db_hl=20)
        for ear in ("right", "left"):
            for hz in (1000, 2000, 4000):
                note("tone-answered", child=f"{child}@lead", ear=ear, hz=hz, heard=(child + hz) % 17 > 0)
        note("screening-finished", child=f"{child}@lead")
    return day


class Day:
    """The journal of a day: its bytes, and where each tap ends."""

    def __init__(self, vault: Vault, children: int) -> None:
        self.day = entries_of_a_day(children)
        self.ends = [JOURNAL_START]
        for entry in self.day:
            vault.table("entries").insert(entry)
            self.ends.append(vault._journal._end)
        self.sealer = vault._journal._sealer
        vault.close()
        self.data = vault.path.read_bytes()

    def cut_everywhere(self) -> None:
        """Whatever byte the journal is cut at, every tap before the cut is read, and nothing else.

        Reading goes on from the tap before, which gives the same as reading from the start
        (``test_frames.py``), but takes seconds instead of hours.
        """
        number, link = 1, frames.FIRST_LINK
        for index, (start, end) in enumerate(pairwise(self.ends)):
            for cut in range(start, end):
                cut_short = frames.read(self.data[:cut], start, self.sealer, number=number, link=link)
                assert (cut_short.payloads, cut_short.end, cut_short.gaps) == ([], start, [])
            whole = frames.read(self.data[:end], start, self.sealer, number=number, link=link)
            assert whole.end == end
            ((_, changes),) = next(iter(steps_in(whole.payloads)))
            assert changes == {str(index + 1): self.day[index]}
            number, link = whole.number, whole.link


def test_a_days_journal_cut_at_every_byte(new_vault, quick_disk):
    Day(new_vault(disk=quick_disk), children=5).cut_everywhere()


@pytest.mark.long
def test_a_whole_days_journal_cut_at_every_byte(new_vault, quick_disk):
    Day(new_vault(disk=quick_disk), children=420).cut_everywhere()


@pytest.mark.parametrize("beyond", [-1, 0, 1, 20, 44, 45, 46, 300])
def test_a_store_cut_near_every_tap_opens_with_all_taps_before_the_cut(
    new_vault, quick_disk, passphrase, beyond: int
):
    vault = new_vault(disk=quick_disk)
    day = Day(vault, children=3)
    for index, end in enumerate(day.ends[:-1]):
        cut = end + beyond
        kept = index if beyond >= 0 else index - 1
        vault.path.write_bytes(day.data[:cut])
        if cut < JOURNAL_START:
            continue
        with Vault.open(vault.path, passphrase=passphrase, disk=quick_disk) as again:
            assert again.table("entries").all() == day.day[:kept]
            assert again.notices == []
            again.table("entries").insert({"the day": "goes on"})
        with Vault.open(vault.path, passphrase=passphrase, disk=quick_disk) as again:
            assert len(again.table("entries")) == kept + 1 and again.notices == []


def test_a_store_cut_inside_its_header_says_so_or_opens(new_vault, quick_disk, passphrase):
    vault = new_vault(disk=quick_disk)
    vault.close()
    data = vault.path.read_bytes()
    for cut in [*range(0, 700), *range(700, JOURNAL_START, 97)]:
        vault.path.write_bytes(data[:cut])
        if cut >= BLOCK_BYTES:
            with Vault.open(vault.path, passphrase=passphrase, disk=quick_disk) as again:
                assert again.notices
        else:
            with pytest.raises(QuietbellError) as told:
                Vault.open(vault.path, passphrase=passphrase, disk=quick_disk)
            assert told.value.exit_status == 5


def flip_bytes(vault: Vault, places: list[int], flip: int, disk: Disk, passphrase: str) -> None:
    """Flip one byte at a time: it is noticed, at most one tap is missing, none is wrong, and it mends."""
    vault.close()
    data = vault.path.read_bytes()
    with Vault.open(vault.path, passphrase=passphrase, disk=disk) as whole:
        right = {document.doc_id: dict(document) for document in whole.table("entries")}
    for at in places:
        damaged = bytearray(data)
        damaged[at] ^= flip
        vault.path.write_bytes(damaged)
        with Vault.open(vault.path, passphrase=passphrase, disk=disk) as again:
            assert again.notices, f"byte {at} was flipped and nobody noticed"
            found = {document.doc_id: dict(document) for document in again.table("entries")}
            assert found.items() <= right.items() and len(found) >= len(right) - (at >= JOURNAL_START)
        with Vault.open(vault.path, passphrase=passphrase, disk=disk) as mended:
            assert mended.notices == []
            assert {document.doc_id: dict(document) for document in mended.table("entries")} == found
        for beside in journal.files_beside(vault.path):
            assert beside.read_bytes() == damaged
            beside.unlink()


def small_store(new_vault: Any, disk: Disk) -> Vault:
    vault: Vault = new_vault(disk=disk, lead_public_key=bytes(range(32)))
    for entry in entries_of_a_day(1)[:6]:
        vault.table("entries").insert(entry)
    return vault


def test_every_byte_of_a_small_store_flipped(new_vault, quick_disk, passphrase):
    """CI: every seventh byte of the journal and of the header's text, some of the header's zeros."""
    vault = small_store(new_vault, quick_disk)
    places = [*range(0, 1000, 7), *range(1000, JOURNAL_START, 501)]
    places += [*range(JOURNAL_START, vault._journal._end, 7), vault._journal._end - 1]
    flip_bytes(vault, places, 0x40, quick_disk, passphrase)


@pytest.mark.long
@pytest.mark.parametrize("flip", [0x01, 0x80, 0xFF])
def test_really_every_byte_of_a_small_store_flipped(new_vault, quick_disk, passphrase, flip: int):
    vault = small_store(new_vault, quick_disk)
    flip_bytes(vault, list(range(vault._journal._end)), flip, quick_disk, passphrase)


def test_kills(tmp_path: Path):
    script = Path(__file__).with_name("kills.py")
    run = subprocess.run(
        [sys.executable, script, "--kills", "25", "--folder", tmp_path], capture_output=True, text=True
    )
    assert run.returncode == 0, run.stdout + run.stderr
    assert "none lost" in run.stdout


# -- power cuts: what was not synced may be there, in part, or not at all ----------------------------------


class PowerCut(BaseException):
    """The lights went out."""


class UnpluggedDisk(Disk):
    """Remembers what is on the medium for sure and what only may be; goes dark at the ``dark``-th call."""

    def __init__(self, dark: int) -> None:
        self.left = dark
        self.sure: dict[int, bytes] = {}  # inode -> content synced
        self.maybe: dict[int, list[tuple[int, bytes]]] = {}  # inode -> writes since
        self.names: dict[str, int] = {}  # names synced
        self.new_names: dict[str, int] = {}  # names since

    def _tick(self) -> None:
        if self.left <= 0:
            raise PowerCut
        self.left -= 1

    def create(self, path: Path) -> int:
        self._tick()
        file = super().create(path)
        self.sure[self.inode(file)], self.maybe[self.inode(file)] = b"", []
        return file

    def write(self, file: int, data: bytes, at: int) -> None:
        self.maybe[self.inode(file)].append((at, data))
        self._tick()
        super().write(file, data, at)

    def truncate(self, file: int, size: int) -> None:
        self._tick()
        super().truncate(file, size)

    def sync(self, file: int) -> None:
        self._tick()
        self.sure[self.inode(file)], self.maybe[self.inode(file)] = self.read(file), []

    def replace(self, new: Path, old: Path) -> None:
        self._tick()
        self.new_names[old.name] = new.stat().st_ino
        super().replace(new, old)

    def sync_directory(self, directory: Path) -> None:
        self._tick()
        self.names |= self.new_names
        self.new_names.clear()

    @staticmethod
    def inode(file: int) -> int:
        return os.fstat(file).st_ino

    def what_is_left(self, name: str, rng: random.Random) -> bytes | None:
        """One of the contents that the medium may show when the power is back."""
        names = dict(self.names)
        if rng.random() < 0.5:
            names |= self.new_names
        if name not in names:
            return None
        content = bytearray(self.sure[names[name]])
        for at, data in self.maybe[names[name]]:
            for start in range(0, len(data), SECTOR):
                if rng.random() < 0.5:
                    piece = data[start : start + SECTOR]
                    content.extend(bytes(max(0, at + start + len(piece) - len(content))))
                    content[at + start : at + start + len(piece)] = piece
        return bytes(content)


def power_cuts(folder: Path, passphrase: str, quick: Disk, rounds: int, seed: int) -> None:
    rng = random.Random(seed)
    for number in range(rounds):
        path = folder / f"{number}.store"
        disk = UnpluggedDisk(dark=rng.randrange(2, 60))
        acknowledged = -1
        try:
            vault = Vault.create(path, kind="tablet", passphrase=passphrase, cost=CHEAP, disk=disk)
            acknowledged = 0
            while True:
                with vault.transaction():
                    vault.table("entries").insert({"n": acknowledged, "note": "x" * rng.randrange(3000)})
                    vault.table("settings").truncate()
                    vault.table("settings").insert({"last": acknowledged})
                acknowledged += 1
                if rng.random() < 0.2:
                    vault.compact()
        except PowerCut:
            pass
        left = disk.what_is_left(path.name, rng)
        if left is None:
            assert acknowledged <= 0, "a store with taps in it has lost its name"
            continue
        again = folder / f"{number}.again"
        again.write_bytes(left)
        with Vault.open(again, passphrase=passphrase, disk=quick) as opened:
            held = [document["n"] for document in opened.table("entries")]
            assert held == list(range(len(held)))
            assert max(acknowledged, 0) <= len(held) <= acknowledged + 1
            if held:
                assert opened.table("settings").all() == [{"last": len(held) - 1}]


def test_power_cuts(tmp_path: Path, passphrase, quick_disk):
    power_cuts(tmp_path, passphrase, quick_disk, rounds=80, seed=1)


@pytest.mark.long
def test_many_power_cuts(tmp_path: Path, passphrase, quick_disk):
    power_cuts(tmp_path, passphrase, quick_disk, rounds=3_000, seed=2)


def test_a_power_cut_while_the_passphrase_is_changed_leaves_one_of_the_two(tmp_path: Path, passphrase):
    """Two header copies, one written after the other: whichever call is the last, one passphrase opens."""
    opened_by = set()
    for dark in range(5, 14):
        for seed in range(6):
            path = tmp_path / f"{dark}-{seed}"
            disk = UnpluggedDisk(dark)
            try:
                # With a lead's slot the header's text is longer than a sector: a torn copy is a broken one.
                lead = bytes(range(32))
                settings = {
                    "kind": "tablet",
                    "passphrase": passphrase,
                    "cost": CHEAP,
                    "lead_public_key": lead,
                }
                vault = Vault.create(path, **settings, disk=disk)
                vault.table("entries").insert({"n": 0})
                vault.change_passphrase(passphrase, "something else entirely")
            except PowerCut:
                pass
            left = disk.what_is_left(path.name, random.Random(seed))
            if left is None:
                continue
            path.with_suffix(".again").write_bytes(left)
            for number, word in enumerate((passphrase, "something else entirely")):
                try:
                    Vault.open(path.with_suffix(".again"), passphrase=word).close()
                    opened_by.add(number)
                    break
                except QuietbellError:
                    continue
            else:
                pytest.fail("neither passphrase opens the store")
    assert opened_by == {0, 1}


def test_a_header_copy_lost_in_a_change_is_finished_quietly(new_vault, passphrase, quick_disk):
    vault = new_vault(disk=quick_disk)
    before = vault.path.read_bytes()[:JOURNAL_START]
    vault.change_passphrase(passphrase, "something else entirely")
    vault.close()
    after = vault.path.read_bytes()
    vault.path.write_bytes(after[:BLOCK_BYTES] + before[BLOCK_BYTES:] + after[JOURNAL_START:])
    with Vault.open(vault.path, passphrase="something else entirely") as again:
        assert again.notices == []
    assert header.find(vault.path.read_bytes()).both_same
