"""Nothing readable at rest: no file that the vault makes, and no error text, holds what was put in.

This is the vault's share; that a whole scripted day leaves nothing in clear elsewhere is checked where the day
is played.
"""

from __future__ import annotations

import errno
import os
import traceback
from pathlib import Path

import pytest
from tinydb import where

from shared.errors import QuietbellError
from shared.vault import Vault, keys

SECRETS = ["Marigoldina", "Underbough-Zwicker", "2017-05-02", "S-10432", "right ear itches"]
CHILD = {"given": SECRETS[0], "family": SECRETS[1], "born": SECRETS[2], "student_number": SECRETS[3]}


def everything_said(folder: Path) -> bytes:
    return b"".join(one.name.encode() + one.read_bytes() for one in folder.rglob("*") if one.is_file())


def assert_nothing_shows(said: bytes, passphrase: str) -> None:
    for secret in [*SECRETS, passphrase, "entries", "child-listed"]:
        for form in (secret.encode(), secret.encode("utf-16-le"), secret.encode().hex().encode()):
            assert form not in said


def test_no_file_of_a_stores_whole_life_shows_anything(new_vault, faulty_disk, passphrase, tmp_path: Path):
    _, public = keys.lead_key_pair(os.urandom)
    vault = new_vault("life.store", disk=faulty_disk, lead_public_key=public)
    entries = vault.table("entries")
    said = []

    def look() -> None:
        said.append(everything_said(tmp_path))

    entries.insert({"kind": "child-listed", "body": CHILD})
    look()
    entries.insert_multiple({"kind": "child-listed", "body": {**CHILD, "n": number}} for number in range(500))
    look()
    faulty_disk.fail["write"], faulty_disk.torn_bytes = OSError(errno.ENOSPC, "full"), 300
    faulty_disk.fail["truncate"] = OSError(errno.EIO, "broken")  # what was half written stays for now
    with pytest.raises(QuietbellError):
        entries.update({"note": SECRETS[4]}, where("kind") == "child-listed")
    look()
    faulty_disk.fail.clear()
    faulty_disk.fail["replace"] = OSError(errno.EIO, "broken")
    keep = os.unlink
    try:
        os.unlink = lambda *_: None  # type: ignore[assignment]  # the unfinished generation stays for now
        with pytest.raises(QuietbellError):
            vault.compact()
    finally:
        os.unlink = keep
    assert (tmp_path / "life.store.new").exists()
    look()
    faulty_disk.fail.clear()
    vault.change_passphrase(passphrase, "something else entirely")
    vault.compact()
    entries.insert({"kind": "observation", "note": SECRETS[4]})
    look()
    vault.close()
    data = bytearray(vault.path.read_bytes())
    data[len(data) // 2] ^= 1
    vault.path.write_bytes(data)
    with Vault.open(vault.path, passphrase="something else entirely") as again:
        assert len(again.table("entries")) > 480 and again.notices
        assert_nothing_shows(" ".join(again.notices).encode(), passphrase)
    look()
    assert len(list(tmp_path.iterdir())) == 2
    for one in said:
        assert_nothing_shows(one, passphrase)
        assert b"something else entirely" not in one


def test_no_error_text_shows_anything(new_vault, faulty_disk, passphrase):
    vault = new_vault(disk=faulty_disk)
    vault.table("entries").insert({"kind": "child-listed", "body": CHILD})
    faulty_disk.fail["sync"] = OSError(errno.EIO, SECRETS[0], SECRETS[1])
    attempts = [
        lambda: vault.table("entries").insert({"kind": "child-listed", "body": CHILD}),
        lambda: vault.table("entries").insert({"kind": "child-listed", "body": {**CHILD, "n": {1}}}),
        lambda: vault.table("entries").insert({"kind": "child-listed", "body": CHILD, "n": float("nan")}),
        lambda: vault.compact(),
        lambda: vault.change_passphrase(passphrase, "something else entirely"),
        lambda: vault.change_passphrase(SECRETS[1], "something else entirely"),
        lambda: Vault.open(vault.path, passphrase=passphrase),
        lambda: Vault.create(vault.path, kind="tablet", passphrase=passphrase),
    ]
    for attempt in attempts:
        with pytest.raises(QuietbellError) as told:
            attempt()
        report = "".join(traceback.format_exception(told.value)) + repr(vault.table("entries")) + repr(vault)
        for secret in [*SECRETS, passphrase]:
            assert secret not in report
