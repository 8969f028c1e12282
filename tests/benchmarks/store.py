"""How long one durable tap takes, side by side: bare append, SQLCipher, TinyDB two ways, the vault.

    python tests/benchmarks/store.py [--taps 2000] [--sizes 500 2000 20000] [--folder FOLDER]

All contestants tap in one run, in turns of ten taps, so that a busy machine is busy for all. Opening and
memory are measured in a fresh process each. Key derivation is left out on both sides (a raw key for SQLCipher,
the cheapest cost for the vault): it costs the same everywhere. Prints the table of README.md.

SQLCipher comes from the package ``sqlcipher3-wheels``; where it is not installed the run says so.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

try:
    import sqlcipher3
except ImportError:
    sqlcipher3 = None

from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from tinydb import TinyDB
from tinydb.storages import Storage

from shared.vault import CHEAP, Vault

PASSPHRASE = "four unrelated paper words"
KEY = bytes(range(32))
TURN = 10
SLOW_SECONDS = 15.0  # a contestant that rewrites its whole file taps no longer than this at each size


def child(number: int) -> dict[str, Any]:
    """A listed child, as its entry."""
    body = {"student_number": f"S-{number}", "given": f"Given{number}", "family": f"Family{number}"}
    body |= {"born": f"2017-{number % 12 + 1:02d}-05", "grade": str(number % 6), "class": f"{number % 6}B"}
    return entry(number, "child-listed", body)


def answer(number: int) -> dict[str, Any]:
    """One answered tone: what a tap writes."""
    body = {"child": f"{number % 500}@lead", "screening": f"{number}@tablet-3", "ear": "right", "hz": 2000}
    return entry(number, "tone-answered", {**body, "level_db_hl": 20, "heard": number % 9 > 0})


def entry(number: int, kind: str, body: dict[str, Any]) -> dict[str, Any]:
    head = {"id": f"{number}@tablet-3", "stamp": f"{number:012x}-0000-tablet-3", "author": "MK"}
    return {**head, "at": "2026-09-14T09:30:00-05:00", "visit": "1@lead", "kind": kind, "body": body}


class BareAppend:
    """200 bytes and one fdatasync: what the disk itself costs."""

    name = "bare append + fdatasync"
    fast = True

    def __init__(self, folder: Path) -> None:
        self.path = folder / "bare"

    def prepare(self, size: int) -> None:
        self.file = os.open(self.path, os.O_RDWR | os.O_CREAT | os.O_APPEND, 0o600)
        os.write(self.file, bytes(200 * size))
        os.fsync(self.file)

    def tap(self, number: int) -> None:
        os.write(self.file, b"x" * 200)
        os.fdatasync(self.file)

    def close(self) -> None:
        os.close(self.file)

    def count(self) -> int:
        return len(self.path.read_bytes()) // 200


class SqlCipher:
    """SQLCipher, WAL, synchronous=FULL: one autocommitted insert a tap."""

    name = "SQLCipher, WAL, FULL"
    fast = True

    def __init__(self, folder: Path) -> None:
        self.path = folder / "sqlcipher.db"

    def _connect(self) -> None:
        self.db = sqlcipher3.connect(str(self.path), isolation_level=None)
        self.db.execute(f"PRAGMA key = \"x'{KEY.hex()}'\"")
        self.db.execute("PRAGMA journal_mode = WAL")
        self.db.execute("PRAGMA synchronous = FULL")

    def prepare(self, size: int) -> None:
        self._connect()
        self.db.execute("CREATE TABLE entries (id INTEGER PRIMARY KEY, body TEXT)")
        self.db.execute("BEGIN")
        rows = ((json.dumps(child(number)),) for number in range(size))
        self.db.executemany("INSERT INTO entries (body) VALUES (?)", rows)
        self.db.execute("COMMIT")

    def tap(self, number: int) -> None:
        self.db.execute("INSERT INTO entries (body) VALUES (?)", (json.dumps(answer(number)),))

    def close(self) -> None:
        self.db.close()

    def count(self) -> int:
        """Read every document, as the app must to know where each child stands."""
        self._connect()
        return len([json.loads(body) for (body,) in self.db.execute("SELECT body FROM entries")])


class PlainTinyDB:
    """TinyDB as it comes: JSON in clear, the whole file again for each tap, not even synced."""

    name = "TinyDB, JSON in clear"
    fast = False

    def __init__(self, folder: Path) -> None:
        self.path = folder / "plain.json"

    def _open(self) -> None:
        self.db = TinyDB(self.path)

    def prepare(self, size: int) -> None:
        self._open()
        self.db.table("entries").insert_multiple(child(number) for number in range(size))

    def tap(self, number: int) -> None:
        self.db.table("entries").insert(answer(number))

    def close(self) -> None:
        self.db.close()

    def count(self) -> int:
        self._open()
        return len(self.db.table("entries"))


class WholeFile(Storage):
    """The obvious encrypted storage: everything sealed anew, written beside, synced and renamed."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.cipher = ChaCha20Poly1305(KEY)

    def read(self) -> dict[str, dict[str, Any]] | None:
        if not self.path.exists():
            return None
        data = self.path.read_bytes()
        tables: dict[str, dict[str, Any]] = json.loads(self.cipher.decrypt(data[:12], data[12:], b""))
        return tables

    def write(self, data: Mapping[str, Mapping[str, Any]]) -> None:
        nonce = os.urandom(12)
        beside = self.path.with_suffix(".new")
        with beside.open("wb") as file:
            file.write(nonce + self.cipher.encrypt(nonce, json.dumps(data).encode(), b""))
            file.flush()
            os.fdatasync(file.fileno())
        beside.replace(self.path)


class EncryptedTinyDB(PlainTinyDB):
    """TinyDB over one whole encrypted file."""

    name = "TinyDB, whole file encrypted"

    def __init__(self, folder: Path) -> None:
        self.path = folder / "whole.store"

    def _open(self) -> None:
        self.db = TinyDB(self.path, storage=WholeFile)


class OurVault:
    """The vault."""

    name = "Quietbell's vault"
    fast = True

    def __init__(self, folder: Path) -> None:
        self.path = folder / "station.store"

    def prepare(self, size: int) -> None:
        self.vault = Vault.create(self.path, kind="tablet", passphrase=PASSPHRASE, cost=CHEAP)
        self.vault.table("entries").insert_multiple(child(number) for number in range(size))
        self.vault.compact()

    def tap(self, number: int) -> None:
        self.vault.table("entries").insert(answer(number))

    def close(self) -> None:
        self.vault.close()

    def count(self) -> int:
        self.vault = Vault.open(self.path, passphrase=PASSPHRASE)
        return len(self.vault.table("entries"))


CONTESTANTS = [BareAppend, SqlCipher, PlainTinyDB, EncryptedTinyDB, OurVault]


def bytes_handed_to_the_system() -> int:
    """What this process has written so far, by the system's own count."""
    return int(Path("/proc/self/io").read_text().split("wchar: ")[1].split()[0])


def peak_memory() -> int:
    """The most memory that this process ever held, in KiB."""
    return int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0])


def quantile(times: list[float], share: float) -> float:
    ordered = sorted(times)
    return ordered[min(int(len(ordered) * share), len(ordered) - 1)] * 1000


def opening(name: str, folder: Path) -> dict[str, float]:
    """Open in a fresh process: milliseconds, documents, peak memory above an idle process in MB."""
    command = [sys.executable, __file__, "--open", name, "--folder", str(folder)]
    runs = [json.loads(subprocess.check_output(command)) for _ in range(3)]
    return min(runs, key=lambda run: run["ms"])


def open_here(name: str, folder: Path) -> None:
    contestant = next(each for each in CONTESTANTS if each.name == name)(folder)
    idle = peak_memory()
    if name == OurVault.name:
        from shared.vault import selftest

        selftest.run_once()  # once a process, about 5 ms, and not part of reading a store
    start = time.perf_counter()
    documents = contestant.count()
    took = time.perf_counter() - start
    print(json.dumps({"ms": took * 1000, "documents": documents, "mb": (peak_memory() - idle) / 1024}))


def run(size: int, taps: int, folder: Path) -> dict[str, dict[str, float]]:
    """All contestants at one size: name -> figures."""
    contestants = [each(folder) for each in CONTESTANTS if each is not SqlCipher or sqlcipher3]
    times: dict[str, list[float]] = {each.name: [] for each in contestants}
    written = dict.fromkeys(times, 0)
    for contestant in contestants:
        contestant.prepare(size)
    number = 0

    def take_turn(contestant: Any, turn: int) -> None:
        nonlocal number
        before = bytes_handed_to_the_system()
        for _ in range(turn):
            number += 1
            start = time.perf_counter()
            contestant.tap(number)
            times[contestant.name].append(time.perf_counter() - start)
        written[contestant.name] += bytes_handed_to_the_system() - before

    turns = [each for each in contestants if each.fast]
    while any(len(times[each.name]) < taps for each in turns):
        for contestant in turns:
            take_turn(contestant, TURN)
        turns.append(turns.pop(0))  # nobody always follows the same one
    # Those that rewrite everything come last: the medium is still busy with their bytes long after.
    for contestant in contestants:
        while not contestant.fast and len(times[contestant.name]) < min(taps, 200):
            take_turn(contestant, 10)
            if sum(times[contestant.name]) > SLOW_SECONDS:
                break
    figures = {}
    for contestant in contestants:
        contestant.close()
        mine = times[contestant.name]
        opened = opening(contestant.name, folder)
        if opened["documents"] != size + len(mine):
            raise SystemExit(f"{contestant.name} lost documents: {opened['documents']}")
        figures[contestant.name] = {
            "taps": len(mine),
            "p50": quantile(mine, 0.5),
            "p95": quantile(mine, 0.95),
            "p99": quantile(mine, 0.99),
            "written": written[contestant.name] / len(mine),
            "open": opened["ms"],
            "size": sum(one.stat().st_size for one in folder.glob(f"{contestant.path.name}*")) / 1024 / 1024,
            "memory": opened["mb"],
        }
    return figures


def twenty_thousand_taps(folder: Path) -> tuple[float, float, float]:
    """Opening 20,000 taps never compacted, compacting them, opening the snapshot: milliseconds."""
    contestant = OurVault(folder)
    contestant.prepare(0)
    for number in range(20_000):
        contestant.tap(number)
    contestant.close()
    raw = opening(OurVault.name, folder)["ms"]
    contestant.count()
    start = time.perf_counter()
    contestant.vault.compact()
    compacted = (time.perf_counter() - start) * 1000
    contestant.close()
    return raw, compacted, opening(OurVault.name, folder)["ms"]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--taps", type=int, default=2000)
    parser.add_argument("--sizes", type=int, nargs="+", default=[500, 2000, 20_000])
    parser.add_argument("--folder", type=Path, default=None, help="a folder on the medium to be measured")
    parser.add_argument("--open", metavar="NAME", help=argparse.SUPPRESS)
    said = parser.parse_args()
    if said.open:
        open_here(said.open, said.folder)
        return
    if sqlcipher3 is None:
        print("SQLCipher is missing (pip install sqlcipher3-wheels): its rows are left out.\n")
    print("| children | store | taps | median ms | p95 | p99 | bytes a tap | open ms | file MB | memory MB |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
    results = {}
    for size in said.sizes:
        with tempfile.TemporaryDirectory(dir=said.folder) as folder:
            results[size] = run(size, said.taps, Path(folder))
        for contestant in CONTESTANTS:
            if contestant.name not in results[size]:
                print(f"| {size} | {contestant.name} | not installed | | | | | | | |")
                continue
            f = results[size][contestant.name]
            print(
                f"| {size} | {contestant.name} | {f['taps']:.0f} | {f['p50']:.3f} | {f['p95']:.3f} "
                f"| {f['p99']:.3f} | {f['written']:.0f} | {f['open']:.0f} | {f['size']:.1f} "
                f"| {f['memory']:.0f} |",
                flush=True,
            )
    with tempfile.TemporaryDirectory(dir=said.folder) as folder:
        raw, compacted, snapshot = twenty_thousand_taps(Path(folder))
    print(f"\n20,000 taps: opening them uncompacted {raw:.0f} ms, compacting {compacted:.0f} ms,", end=" ")
    print(f"opening the snapshot {snapshot:.0f} ms.\n")
    verdicts(results, snapshot)


def verdicts(results: dict[int, dict[str, dict[str, float]]], snapshot: float) -> None:
    """The measures, each with what this run gave."""
    for size, figures in results.items():
        ours, bare = figures[OurVault.name], figures[BareAppend.name]
        told("median over bare append, at most 1.5", ours["p50"] / bare["p50"], 1.5, size)
        if SqlCipher.name in figures:
            told("p99 over SQLCipher's, at most 1", ours["p99"] / figures[SqlCipher.name]["p99"], 1.0, size)
    smallest, largest = min(results), max(results)
    flat = results[largest][OurVault.name]["p50"] / results[smallest][OurVault.name]["p50"]
    told(f"median over that at {smallest} children, at most 1.2", flat, 1.2, largest)
    told("opening 20,000 documents in ms, at most 150", snapshot, 150.0, 20_000)


def told(what: str, value: float, most: float, size: int) -> None:
    print(f"- {size:>6} children: {what}: {value:.2f} ({'met' if value <= most else 'MISSED'})")


if __name__ == "__main__":
    main()
