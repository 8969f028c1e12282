"""Kill -9 at random moments while taps are saved and the journal is compacted; no acknowledged tap may be lost.

    python tests/vault/kills.py --kills 1000 --seed 1 [--folder FOLDER]

Each round opens the store, forks a child that taps as fast as it can and says through a pipe which taps were
acknowledged, kills it after a random time, opens the store again and compares. Exit status 0: nothing lost.
"""

from __future__ import annotations

import argparse
import os
import random
import signal
import struct
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from shared.vault import CHEAP, Vault

PASSPHRASE = "four unrelated paper words"
NUMBER = struct.Struct(">Q")


def tap(path: Path, first: int, acknowledge: int, rng: random.Random) -> None:
    """Tap until killed: single documents, two tables in one transaction, compactions in between."""
    vault = Vault.open(path, passphrase=PASSPHRASE)
    entries, settings = vault.table("entries"), vault.table("settings")
    number = first
    while True:
        with vault.transaction():
            entries.insert({"n": number, "note": "x" * rng.randrange(600)})
            if number % 5 == 0:
                settings.truncate()
                settings.insert({"last": number})
        os.write(acknowledge, NUMBER.pack(number))
        number += 1
        if rng.random() < 0.03:
            vault.compact()


def killed(path: Path, first: int, rng: random.Random) -> int:
    """One round: the number of taps that were acknowledged."""
    readable, writable = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(readable)
            tap(path, first, writable, rng)
        finally:
            os._exit(1)
    os.close(writable)
    time.sleep(rng.uniform(0.0, 0.06))
    os.kill(child, signal.SIGKILL)
    acknowledged = b""
    while chunk := os.read(readable, 65536):
        acknowledged += chunk
    os.close(readable)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        raise SystemExit("the tapping child failed by itself")
    return len(acknowledged) // NUMBER.size


def check(path: Path, acknowledged: int) -> int:
    """Open, compare, and return how many taps the store holds; raises ``SystemExit`` where one is missing."""
    with Vault.open(path, passphrase=PASSPHRASE) as vault:
        held = [document["n"] for document in vault.table("entries")]
        if held != list(range(len(held))) or len(held) < acknowledged:
            raise SystemExit(f"lost: {acknowledged} acknowledged, {len(held)} held")
        if len(held) > acknowledged + 1:
            raise SystemExit(f"too many: {acknowledged} acknowledged, {len(held)} held")
        if vault.notices:
            raise SystemExit(f"a kill is no damage, but: {vault.notices}")
        last = vault.table("settings").all()
        if held and [one["last"] for one in last] != [(len(held) - 1) // 5 * 5]:
            raise SystemExit("half a transaction")
        return len(held)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--folder", type=Path, default=None)
    said = parser.parse_args()
    rng = random.Random(said.seed)
    with tempfile.TemporaryDirectory(dir=said.folder) as folder:
        path = Path(folder) / "station.store"
        taps = total = 0
        for number in range(said.kills):
            if number % 100 == 0:  # a fresh store now and then keeps the rounds short
                path.unlink(missing_ok=True)
                Vault.create(path, kind="tablet", passphrase=PASSPHRASE, cost=CHEAP).close()
                taps = 0
            new = killed(path, taps, rng)
            total += new
            taps = check(path, taps + new)
            left = [one.name for one in Path(folder).iterdir()]
            if left != [path.name]:
                raise SystemExit(f"left behind: {left}")
        print(f"{said.kills} kills, {total} taps acknowledged, none lost")


if __name__ == "__main__":
    main()
