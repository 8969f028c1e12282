"""The vault's face: create, open, write, compact, change the passphrase, wipe."""

from __future__ import annotations

import os
from itertools import pairwise
from pathlib import Path

import pytest
from tinydb import where

from shared.errors import Damaged, ForeignFile, NewerVersion, Refused, StoreBusy, WrongPassphrase
from shared.vault import CHEAP, Vault, keys, kind_of
from shared.vault.frames import PADDING
from shared.vault.header import JOURNAL_START
from shared.vault.passphrases import WeakPassphrase


def test_what_was_written_is_there_after_reopening(new_vault, reopened, content):
    vault = new_vault(kind="book")
    vault.table("entries").insert_multiple({"n": number, "body": {"ear": "left"}} for number in range(300))
    vault.table("entries").update({"seen": True}, where("n") == 7)
    vault.table("entries").remove(where("n") == 9)
    vault.table("settings").insert({"page": "letter"})
    before = content(vault)
    again = reopened(vault)
    assert content(again) == before
    assert (again.kind, again.store_id, again.notices) == ("book", vault.store_id, [])


def test_the_header_holds_no_more_than_it_must(new_vault):
    vault = new_vault()
    assert kind_of(vault.path) == "tablet"
    assert vault.path.stat().st_mode & 0o777 == 0o600


def test_a_file_is_never_overwritten_by_a_new_store(new_vault, tmp_path: Path):
    (tmp_path / "taken").write_text("a letter")
    with pytest.raises(Refused, match="already a file"):
        new_vault("taken")
    assert (tmp_path / "taken").read_text() == "a letter"


def test_wrong_passphrase_damage_foreign_and_newer_are_four_messages(new_vault, tmp_path: Path, passphrase):
    vault = new_vault()
    vault.close()
    with pytest.raises(WrongPassphrase) as wrong:
        Vault.open(vault.path, passphrase=passphrase + "x")
    whole = vault.path.read_bytes()

    other = tmp_path / "other"
    other.write_bytes(b"student,grade\n" * 900)
    with pytest.raises(ForeignFile) as foreign:
        Vault.open(other, passphrase=passphrase)

    newer = tmp_path / "newer"
    newer.write_bytes((whole[:16] + b"\0\2" + whole[18:4096]) * 2)
    with pytest.raises(NewerVersion) as new:
        Vault.open(newer, passphrase=passphrase)

    broken = tmp_path / "broken"
    broken.write_bytes((whole[:100] + b"~" + whole[101:4096]) * 2)
    with pytest.raises(Damaged) as damaged:
        Vault.open(broken, passphrase=passphrase)
    assert len({str(each.value) for each in (wrong, foreign, new, damaged)}) == 4
    assert [each.value.exit_status for each in (wrong, foreign, new, damaged)] == [4, 5, 5, 5]
    for path in (other, newer, broken):
        with pytest.raises((ForeignFile, NewerVersion, Damaged)):
            kind_of(path)


@pytest.mark.parametrize("path", ["nothing", "."])
def test_no_file_and_a_folder_are_refused_plainly(tmp_path: Path, passphrase, path):
    with pytest.raises(Refused):
        Vault.open(tmp_path / path, passphrase=passphrase)
    with pytest.raises(Refused):
        kind_of(tmp_path / path)


def test_a_second_opening_is_refused_while_the_first_lasts(new_vault, passphrase):
    vault = new_vault()
    with pytest.raises(StoreBusy):
        Vault.open(vault.path, passphrase=passphrase)
    vault.compact()  # the new generation must be locked as well
    with pytest.raises(StoreBusy):
        Vault.open(vault.path, passphrase=passphrase)
    with pytest.raises(StoreBusy):
        Vault.wipe(vault.path)
    vault.close()
    Vault.open(vault.path, passphrase=passphrase).close()


def test_the_leads_key_opens_what_the_passphrase_closed_and_replaces_it(new_vault, reopened):
    private, public = keys.lead_key_pair(os.urandom)
    vault = new_vault(lead_public_key=public)
    vault.table("entries").insert({"n": 1})
    by_lead = reopened(vault, passphrase=None, lead_private_key=private)
    assert by_lead.table("entries").get(doc_id=1) == {"n": 1}
    by_lead.change_passphrase(None, "a new one for the tablet")
    by_lead.compact()
    again = reopened(by_lead, passphrase="a new one for the tablet")
    again.compact()  # draws a new store key and must seal it to the lead again
    again.close()
    Vault.open(vault.path, lead_private_key=private).close()


def test_another_leads_key_does_not_open_it(new_vault):
    _, public = keys.lead_key_pair(os.urandom)
    other, _ = keys.lead_key_pair(os.urandom)
    vault = new_vault(lead_public_key=public)
    vault.close()
    with pytest.raises(WrongPassphrase):
        Vault.open(vault.path, lead_private_key=other)
    plain = new_vault("without a lead")
    plain.close()
    with pytest.raises(WrongPassphrase):
        Vault.open(plain.path, lead_private_key=other)


def test_changing_the_passphrase_leaves_the_data_where_it_is(new_vault, passphrase):
    vault = new_vault()
    vault.table("entries").insert({"n": 1})
    frames_before = vault.path.read_bytes()[JOURNAL_START:]
    vault.change_passphrase(passphrase, "something else entirely")
    assert vault.path.read_bytes()[JOURNAL_START:] == frames_before
    vault.close()
    with pytest.raises(WrongPassphrase):
        Vault.open(vault.path, passphrase=passphrase)
    with Vault.open(vault.path, passphrase="something else entirely") as again:
        assert len(again.table("entries")) == 1


def test_a_passphrase_is_not_changed_without_the_old_one(new_vault, passphrase):
    vault = new_vault()
    for old in ("not the one at all", None):
        with pytest.raises(WrongPassphrase):
            vault.change_passphrase(old, "something else entirely")
    with pytest.raises(WeakPassphrase):
        vault.change_passphrase(passphrase, "short")
    with pytest.raises(WeakPassphrase):
        new_vault("weak", passphrase="1234567890")
    vault.close()
    Vault.open(vault.path, passphrase=passphrase).close()


def test_an_old_copy_and_an_old_passphrase_do_not_read_what_comes_after_a_compaction(
    new_vault, passphrase, tmp_path: Path
):
    """The former screener: knows an old passphrase and kept a copy of the file from then."""
    vault = new_vault()
    copy = tmp_path / "copy"
    copy.write_bytes(vault.path.read_bytes())
    vault.change_passphrase(passphrase, "something else entirely")
    vault.compact()
    vault.table("entries").insert({"n": 1})
    now = vault.path.read_bytes()
    # The old head, which the old passphrase opens, put before today's frames.
    copy.write_bytes(copy.read_bytes()[:JOURNAL_START] + now[JOURNAL_START:])
    with Vault.open(copy, passphrase=passphrase) as old:
        assert len(old.table("entries")) == 0
        assert old.notices


def test_a_link_to_a_store_stays_a_link(new_vault, passphrase, tmp_path: Path):
    vault = new_vault()
    vault.close()
    (tmp_path / "link").symlink_to(vault.path)
    with Vault.open(tmp_path / "link", passphrase=passphrase) as again:
        again.table("entries").insert({"n": 1})
        again.compact()
    assert (tmp_path / "link").is_symlink()
    with Vault.open(vault.path, passphrase=passphrase) as again:
        assert len(again.table("entries")) == 1


def test_a_transaction_is_one_frame_and_all_or_nothing(new_vault, reopened, content):
    vault = new_vault()
    entries, settings = vault.table("entries"), vault.table("settings")
    entries.insert({"n": 0})
    before, size = content(vault), vault._journal._end
    with pytest.raises(ZeroDivisionError), vault.transaction():
        entries.insert({"n": 1})
        settings.insert({"page": "a4"})
        entries.remove(doc_ids=[1])
        vault.db.drop_table("entries")
        assert len(settings) == 1  # what was written inside is seen inside
        raise ZeroDivisionError
    assert (content(vault), vault._journal._end) == (before, size)
    with vault.transaction():
        entries.insert({"n": 1})
        with vault.transaction():
            settings.insert({"page": "a4"})
        with pytest.raises(ZeroDivisionError), vault.transaction():
            settings.insert({"page": "folio"})
            raise ZeroDivisionError
    assert vault._journal._number == 3
    assert content(reopened(vault)) == {
        "entries": [(1, {"n": 0}), (2, {"n": 1})],
        "settings": [(1, {"page": "a4"})],
    }


def test_what_was_found_inside_a_failed_transaction_is_not_found_after_it(new_vault):
    """TinyDB remembers the results of queries."""
    entries = new_vault().table("entries")
    late = where("n") == "late"
    with pytest.raises(ZeroDivisionError), entries.storage.transaction():
        entries.insert({"n": "late"})
        assert len(entries.search(late)) == 1
        raise ZeroDivisionError
    assert entries.search(late) == [] and entries.get(late) is None and not entries.contains(late)


def test_compaction_keeps_everything_and_shrinks_the_file(new_vault, reopened, content):
    vault = new_vault()
    table = vault.table("entries")
    table.insert({"n": 0})
    for number in range(200):
        table.update({"n": number})
    before, size = content(vault), vault._journal._end
    assert not vault.should_compact()
    vault.compact()
    assert vault._journal._end - JOURNAL_START < (size - JOURNAL_START) / 100
    table.insert({"n": "after"})
    assert content(reopened(vault))["entries"] == [*before["entries"], (2, {"n": "after"})]


def test_compaction_is_due_after_a_thousand_changes_or_half_as_many_as_there_are_documents(
    new_vault, quick_disk
):
    vault = new_vault(disk=quick_disk)
    vault.table("entries").insert_multiple({"n": number} for number in range(4000))
    vault.compact()
    for _ in range(1999):
        vault.table("entries").insert({"n": 0})
    assert not vault.should_compact()  # 5,999 documents: half would be 2,999
    vault.compact()
    for _ in range(2999 + 1500):
        vault.table("entries").insert({"n": 0})
    assert not vault.should_compact()
    for _ in range(1500):
        vault.table("entries").insert({"n": 0})
    assert vault.should_compact()
    with vault.transaction(), pytest.raises(RuntimeError):
        vault.compact()


def test_answers_cannot_be_told_from_the_length(new_vault, quick_disk):
    vault = new_vault(disk=quick_disk)
    ends = [vault._journal._end]
    for heard in (True, False, None, True):
        vault.table("entries").insert({"ear": "right", "hz": 1000, "heard": heard})
        ends.append(vault._journal._end)
    lengths = {after - before for before, after in pairwise(ends)}
    assert len(lengths) == 1
    assert lengths.pop() >= PADDING


def test_a_closed_vault_refuses_to_write_and_closes_twice(new_vault):
    vault = new_vault()
    vault.close()
    vault.close()
    with pytest.raises(Refused, match="closed"):
        vault.table("entries").insert({"n": 1})
    assert len(vault.table("entries")) == 0


def test_wiping_takes_the_store_and_what_was_set_aside_and_nothing_else(new_vault, tmp_path: Path):
    vault = new_vault()
    vault.close()
    (tmp_path / "station.store.damaged-1").write_bytes(vault.path.read_bytes())
    (tmp_path / "station.store.new").write_bytes(b"half a generation")
    (tmp_path / "station.store.pdf").write_text("a paper")
    Vault.wipe(vault.path)
    assert [one.name for one in tmp_path.iterdir()] == ["station.store.pdf"]
    with pytest.raises(ForeignFile):
        Vault.wipe(tmp_path / "station.store.pdf")


def test_a_document_that_cannot_be_stored_is_refused_without_quoting_it(new_vault, content):
    vault = new_vault()
    vault.table("entries").insert({"n": 1})
    before = content(vault)
    deep: list[object] = []
    for _ in range(100_000):
        deep = [deep]
    for bad in ({1, 2}, float("nan"), b"Marigold", deep, "x" * (8 * 1024 * 1024)):
        with pytest.raises(Refused) as refused:
            vault.table("entries").insert({"given": "Marigold", "what": bad})
        assert "Marigold" not in str(refused.value) and refused.value.__cause__ is None
    assert content(vault) == before
    assert vault.table("entries").insert({"n": 2}) == 2


def test_large_documents_are_sealed_in_several_parts(new_vault, reopened, quick_disk, content):
    vault = new_vault(disk=quick_disk)
    vault.table("papers").insert_multiple({"page": "x" * 1_000_000, "n": number} for number in range(20))
    before = content(vault)
    assert content(reopened(vault)) == before


def test_usual_cost_is_the_published_one():
    """RFC 9106 section 4, second recommended option: 3 passes, 4 lanes, 64 MiB."""
    cost = keys.usual_cost()
    assert (cost.kdf, cost.memory_kib, cost.passes, cost.lanes) == ("argon2id", 65536, 3, 4)
    assert cost.memory_kib > 1000 * CHEAP.memory_kib


def test_a_bulk_of_documents_goes_in_at_once_and_comes_back(new_vault, reopened, quick_disk):
    vault = new_vault(disk=quick_disk)
    with vault.transaction():
        vault.table("entries").insert_multiple({"n": number} for number in range(20_000))
    again = reopened(vault)
    assert [document["n"] for _, document in again.table("entries").live()] == list(range(20_000))
