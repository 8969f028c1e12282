"""Writes the store vectors of this folder, the negative ones included: ``python tests/vectors/make_store_vectors.py``.

All randomness is seeded, so that only the lead's vector changes from run to run. What each must give is said
here in plain sight, not read back from the store.
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[2]))

from shared.vault import CHEAP, Cost, Vault, frames, keys
from shared.vault.disk import Disk
from shared.vault.header import BLOCK_BYTES, JOURNAL_START, MAGIC
from shared.vault.keys import canonical, checksum

PASSPHRASE = "paper boats at noon"
LEAD_KEY = bytes(range(1, 33))
LEAD_PUBLIC = keys.lead_key_pair(lambda _: LEAD_KEY)[1]

ENTRY = {
    "id": "1@tablet-3",
    "kind": "observation",
    "body": {"note": "smile \u2713", "n": [1, 1.5, None, True]},
}
CONTENT = {"entries": {"1": ENTRY, "3": {"n": "new"}}, "settings": {"1": {"page": "a4"}}}

Change = Callable[[bytes], bytes]


class NoReserve(Disk):
    """Keeps the vectors short."""

    def reserve(self, file: int, at: int, size: int) -> None:
        pass


def made(folder: Path, *, seed: int = 1, cost: Cost = CHEAP, lead: bool = False, more: Any = None) -> bytes:
    """A store with ``CONTENT``, written in five transactions; then ``more`` is done to it."""
    path = folder / f"{seed}.store"
    path.unlink(missing_ok=True)
    vault = Vault.create(
        path,
        kind="tablet",
        passphrase=PASSPHRASE,
        lead_public_key=LEAD_PUBLIC if lead else None,
        random=random.Random(seed).randbytes,
        cost=cost,
        disk=NoReserve(),
    )
    with vault:
        vault.table("entries").insert_multiple([ENTRY, {"n": "gone"}])
        with vault.transaction():
            vault.table("settings").insert({"page": "letter"})
            vault.table("old").insert({"n": 1})
        vault.table("entries").insert({"n": "new"})
        vault.table("entries").remove(doc_ids=[2])
        with vault.transaction():
            vault.table("settings").update({"page": "a4"})
            vault.db.drop_table("old")
        if more is not None:
            more(vault)
    return path.read_bytes()


def frame_places(data: bytes) -> list[int]:
    """Where each frame begins, and where the last one ends."""
    places = [JOURNAL_START]
    while places[-1] < len(data) and (length := int.from_bytes(data[places[-1] : places[-1] + 4], "big")):
        places.append(places[-1] + frames.HEADER_BYTES + length)
    return places


def flipped(data: bytes, at: int) -> bytes:
    return data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]


def with_text(data: bytes, change: Callable[[dict[str, Any]], None], *, version: int = 1) -> bytes:
    """Both header copies with a changed text and a right checksum, but the old seal: what a forger can do."""
    n = int.from_bytes(data[18:20], "big")
    text = json.loads(data[20 : 20 + n])
    change(text)
    new = canonical(text)
    body = MAGIC + version.to_bytes(2, "big") + len(new).to_bytes(2, "big") + new + data[20 + n : 52 + n]
    return (body + checksum(body)).ljust(BLOCK_BYTES, b"\0") * 2 + data[JOURNAL_START:]


def in_slot(**said: Any) -> Callable[[dict[str, Any]], None]:
    return lambda text: text["slots"][0].update(said)


def written(folder: Path) -> dict[str, dict[str, Any]]:
    """All vectors: name -> its fields and bytes."""
    plain = made(folder)
    other = made(folder, seed=2)
    places = frame_places(plain)
    last, end = places[-2], places[-1]

    def parts(vault: Vault) -> None:
        step = b'[["papers",{"%d":{"n":%d}}]]'
        vault._journal.append([step % (number, number) for number in (1, 2, 3)])

    in_parts = made(folder, seed=3, more=parts)
    cut_in_parts = frame_places(in_parts)[-2]
    nonsense = made(folder, seed=4, more=lambda vault: vault._journal.append([b'{"entries": 5}']))
    with_papers = {**CONTENT, "papers": {"1": {"n": 1}, "2": {"n": 2}, "3": {"n": 3}}}
    before_last = {
        "entries": CONTENT["entries"],
        "settings": {"1": {"page": "letter"}},
        "old": {"1": {"n": 1}},
    }
    # The change of the settings names the whole document: the table comes to be with it.
    without_second = {"entries": CONTENT["entries"], "settings": {"1": {"page": "a4"}}}

    def opens(what: str, data: bytes, content: Any = CONTENT, reported: str = "no") -> dict[str, Any]:
        return {"what": what, "outcome": "opens", "reported": reported, "content": content, "data": data}

    def refused(what: str, outcome: str, data: bytes) -> dict[str, Any]:
        return {"what": what, "outcome": outcome, "data": data}

    lead = made(folder, seed=5, lead=True)
    compacted = made(folder, seed=6, more=lambda vault: vault.compact())
    changed = made(
        folder, seed=7, more=lambda vault: vault.change_passphrase(PASSPHRASE, "tin boats at night")
    )
    before_change = made(folder, seed=7)
    return {
        "plain": opens("five transactions: documents set, changed and removed, a table dropped", plain),
        "scrypt": opens("a passphrase slot by scrypt", made(folder, seed=8, cost=Cost("scrypt", 16, 1, 1))),
        "lead": {**opens("opened with the lead's key", lead), "lead-key": LEAD_KEY.hex()},
        "compacted": opens("a snapshot after a compaction", compacted),
        "passphrase-changed": {
            **opens("the second passphrase opens it", changed),
            "passphrase": "tin boats at night",
        },
        "parts": opens("a transaction in three frames", in_parts, with_papers),
        "reserve": opens("zeros stand ready behind the last frame", plain + bytes(5000)),
        "spaces": {
            **opens("no-break spaces in the passphrase are spaces (RFC 8265)", plain),
            "passphrase": PASSPHRASE.replace(" ", "\u00a0"),
        },
        "torn-header": opens("the last frame stops in its header", plain[: last + 30], before_last),
        "torn-body": opens("the last frame stops in its payload", plain[: end - 20], before_last),
        "torn-in-reserve": opens(
            "the last frame stops and reserve follows", plain[: last + 100] + bytes(4000), before_last
        ),
        "torn-transaction": opens("the last of three frames is missing", in_parts[:cut_in_parts]),
        "damaged-tail": opens(
            "a flipped bit in the last frame", flipped(plain, end - 40), before_last, "yes"
        ),
        "damaged-length": opens(
            "a flipped bit in the last length", flipped(plain, last + 1), before_last, "yes"
        ),
        "gap": opens(
            "a flipped bit in the second frame: its new tables are lost, what follows is kept",
            flipped(plain, places[1] + 60),
            without_second,
            "yes",
        ),
        "frames-swapped": opens(
            "the third and the fourth frame change places: the fourth counts, the third comes too late",
            plain[: places[2]]
            + plain[places[3] : places[4]]
            + plain[places[2] : places[3]]
            + plain[places[4] :],
            {"entries": {"1": ENTRY}, "settings": {"1": {"page": "a4"}}},
            "yes",
        ),
        "frame-of-another-store": opens(
            "the last frame comes from another store",
            plain[:last] + other[frame_places(other)[-2] :],
            before_last,
            "yes",
        ),
        "header-copy-damaged": opens("one header copy is damaged", flipped(plain, 200), reported="yes"),
        "header-copy-older": {
            **opens("a crash between the two header copies", changed[:4096] + before_change[4096:]),
            "passphrase": "tin boats at night",
        },
        "wrong-passphrase": {
            **refused("another passphrase", "wrong-key", plain),
            "passphrase": "paper boats at one",
        },
        "old-passphrase": refused("the passphrase was changed", "wrong-key", changed),
        "no-lead": {**refused("there is no lead's slot", "wrong-key", plain), "lead-key": LEAD_KEY.hex()},
        "slot-of-another-store": refused(
            "a slot moved here from another store",
            "wrong-key",
            with_text(
                plain, in_slot(**json.loads(other[20 : 20 + int.from_bytes(other[18:20], "big")])["slots"][0])
            ),
        ),
        "kind-forged": refused(
            "a tablet made to look like a book",
            "wrong-key",
            with_text(plain, lambda t: t.update(kind="book")),
        ),
        "slots-forged": refused(
            "a lead's slot added by a forger: the header's seal does not fit",
            "damaged",
            with_text(
                plain, lambda t: t["slots"].append({"type": "lead", "public_key": "00", "sealed": "00"})
            ),
        ),
        "hostile-memory": refused(
            "key derivation asks for 1 TiB", "damaged", with_text(plain, in_slot(memory_kib=2**30))
        ),
        "hostile-passes": refused(
            "key derivation asks for a million passes", "damaged", with_text(plain, in_slot(passes=10**6))
        ),
        "unknown-kdf": refused("an unknown key derivation", "damaged", with_text(plain, in_slot(kdf="md5"))),
        "payload-not-steps": refused("a frame that opens but holds no steps", "damaged", nonsense),
        "header-damaged": refused(
            "both header copies are damaged", "damaged", flipped(flipped(plain, 200), 4096 + 300)
        ),
        "header-cut": refused("the file ends in the first header copy", "damaged", plain[:300]),
        "newer": refused("version 2", "newer", with_text(plain, lambda _: None, version=2)),
        "foreign": refused("not a store", "foreign", b"student,family,given\n" * 40),
        "empty": refused("no bytes at all", "foreign", b""),
    }


def text_of(vector: dict[str, Any]) -> str:
    """A vector as its file."""
    lines = [f"what: {vector['what']}"]
    if "lead-key" in vector:
        lines.append(f"lead-key: {vector['lead-key']}")
    else:
        lines.append(f"passphrase: {vector.get('passphrase', PASSPHRASE)}")
    lines.append(f"outcome: {vector['outcome']}")
    if "content" in vector:
        lines.append(f"reported: {vector['reported']}")
        lines.append(f"content: {json.dumps(vector['content'])}")
    lines.append("file:")
    data: bytes = vector["data"]
    at = 0
    while at < len(data):
        zeros = len(data[at:]) - len(data[at:].lstrip(b"\0"))
        if zeros >= 64:
            lines.append(f"zeros {zeros}")
            at += zeros
            continue
        stop = data.find(bytes(64), at, at + 48 + 63)
        piece = data[at : stop if stop > at else at + 48]
        lines.append(piece.hex())
        at += len(piece)
    return "\n".join(lines) + "\n"


def main() -> None:
    here = Path(__file__).parent
    with tempfile.TemporaryDirectory() as folder:
        for name, vector in written(Path(folder)).items():
            (here / f"store-{name}.txt").write_text(text_of(vector), encoding="utf-8")


if __name__ == "__main__":
    main()
