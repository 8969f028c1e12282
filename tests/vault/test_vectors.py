"""The text vectors of ``tests/vectors``: the real reader and the reference reader must both do as they say."""

from __future__ import annotations

import importlib.util
import json
import random
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite

from shared.errors import Damaged, ForeignFile, NewerVersion, WrongPassphrase
from shared.vault import Vault

FOLDER = Path(__file__).parents[1] / "vectors"
VECTORS = sorted(FOLDER.glob("store-*.txt"))
ERRORS = {"wrong-key": WrongPassphrase, "damaged": Damaged, "foreign": ForeignFile, "newer": NewerVersion}


def module(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(path.stem, path)
    assert spec is not None and spec.loader is not None
    loaded = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(loaded)
    return loaded


reference = module(Path(__file__).with_name("reference_reader.py"))


def vector(path: Path) -> tuple[dict[str, str], bytes]:
    said, _, file = path.read_text(encoding="utf-8").partition("file:\n")
    data = b""
    for line in file.splitlines():
        data += bytes(int(line.split()[1])) if line.startswith("zeros ") else bytes.fromhex(line)
    return dict(line.split(": ", 1) for line in said.splitlines()), data


def test_there_are_vectors():
    assert len(VECTORS) >= 30


@pytest.mark.parametrize("path", VECTORS, ids=lambda path: path.stem)
def test_the_real_reader(path: Path, tmp_path: Path, quick_disk):
    said, data = vector(path)
    store = tmp_path / "vector.store"
    store.write_bytes(data)
    key: dict[str, Any] = {"passphrase": said.get("passphrase")}
    if "lead-key" in said:
        key = {"lead_private_key": bytes.fromhex(said["lead-key"])}
    if said["outcome"] != "opens":
        with pytest.raises(ERRORS[said["outcome"]]):
            Vault.open(store, **key, disk=quick_disk)
        assert store.read_bytes() == data and len(list(tmp_path.iterdir())) == 1, (
            "a refused file is not altered"
        )
        return
    with Vault.open(store, **key, disk=quick_disk) as vault:
        held = {name: dict(vault.table(name).live()) for name in vault.db.tables()}
        wanted = json.loads(said["content"])
        assert {name: {str(key): one for key, one in table.items()} for name, table in held.items()} == wanted
        for name, table in wanted.items():
            assert list(map(str, held[name])) == list(table), "the order too"
        assert bool(vault.notices) == (said["reported"] == "yes")


@pytest.mark.parametrize("path", VECTORS, ids=lambda path: path.stem)
def test_the_reference_reader(path: Path):
    said, data = vector(path)
    key: dict[str, Any] = {"passphrase": said.get("passphrase")}
    if "lead-key" in said:
        key = {"lead_key": bytes.fromhex(said["lead-key"])}
    if said["outcome"] != "opens":
        with pytest.raises(reference.Outcome, match=said["outcome"]):
            reference.read_store(data, **key)
        return
    tables, reported = reference.read_store(data, **key)
    assert json.dumps(tables) == json.dumps(json.loads(said["content"]))
    assert reported == (said["reported"] == "yes")


def test_making_the_vectors_again_gives_the_same(tmp_path: Path):
    maker = module(FOLDER / "make_store_vectors.py")
    for name, made in maker.written(tmp_path).items():
        if name != "lead":
            kept = (FOLDER / f"store-{name}.txt").read_text(encoding="utf-8")
            assert maker.text_of(made) == kept, f"{name} changed: the format did, or the writer"


def test_the_reference_opens_what_the_library_seals():
    """HPKE two ways: from the library, and from its parts as RFC 9180 puts them together."""
    private = X25519PrivateKey.generate()
    suite = Suite(KEM.X25519, KDF.HKDF_SHA256, AEAD.CHACHA20_POLY1305)
    sealed = suite.encrypt(b"a secret", private.public_key(), info=b"here")
    assert reference.hpke_open(sealed, private.private_bytes_raw(), b"here") == b"a secret"


def test_both_readers_agree_on_stores_damaged_at_random(new_vault, quick_disk, passphrase):
    """Flips, cuts, zeroed blocks and shuffled pieces: the same content and the same word on damage."""
    rng = random.Random(9)
    vault = new_vault(disk=quick_disk)
    for number in range(8):
        vault.table("entries").insert({"n": number})
    vault._journal.append([b'[["papers",{"1":{}}]]', b'[["papers",{"2":{}}]]'])
    vault.close()
    whole = vault.path.read_bytes()
    for _ in range(120):
        data = bytearray(whole)
        for _ in range(rng.randrange(1, 3)):
            at = rng.randrange(4096, len(data))
            kind = rng.randrange(4)
            if kind == 0:
                data[at] ^= 1 << rng.randrange(8)
            elif kind == 1:
                del data[max(at, 8192) :]
            elif kind == 2:
                data[at : at + 300] = bytes(len(data[at : at + 300]))
            else:
                piece = data[at : at + 400]
                del data[at : at + 400]
                back = rng.randrange(8192, max(len(data), 8193))
                data[back:back] = piece
            if len(data) <= 8192:
                break
        vault.path.write_bytes(data)
        tables, reported = reference.read_store(bytes(data), passphrase=passphrase)
        with Vault.open(vault.path, passphrase=passphrase, disk=quick_disk) as opened:
            held = {
                name: {str(one.doc_id): dict(one) for one in opened.table(name)}
                for name in opened.db.tables()
            }
            assert held == tables
            assert bool(opened.notices) == reported
        for beside in vault.path.parent.glob("*.damaged-*"):
            beside.unlink()
