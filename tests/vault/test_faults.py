"""A disk that fails: the tap is refused plainly, view and file agree, and work goes on afterwards."""

from __future__ import annotations

import errno
from pathlib import Path

import pytest
from tinydb import where

from shared.errors import WriteRefused
from shared.vault import Vault

ERRORS = {
    errno.ENOSPC: "full",
    errno.EDQUOT: "full",
    errno.EROFS: "only be read",
    errno.EACCES: "may not write",
    errno.EIO: "reports an error",
    errno.ENODEV: "refuses to write",
}


def refused(number: int) -> OSError:
    return OSError(number, "as the system says")


@pytest.fixture
def station(new_vault, faulty_disk) -> Vault:
    vault = new_vault(disk=faulty_disk)
    vault.table("entries").insert_multiple({"n": number, "body": {"heard": True}} for number in range(5))
    return vault


CHANGES = {
    "insert": lambda vault: vault.table("entries").insert({"n": 9}),
    "insert_multiple": lambda vault: vault.table("entries").insert_multiple([{"n": 9}, {"n": 10}]),
    "update": lambda vault: vault.table("entries").update({"body": None}, where("n") > 2),
    "update in place": lambda vault: vault.table("entries").update(
        lambda one: one["body"].update(heard=False)
    ),
    "upsert": lambda vault: vault.table("entries").upsert({"n": 3, "late": 1}, where("n") == 3),
    "remove": lambda vault: vault.table("entries").remove(where("n") < 3),
    "all anew, the last first": lambda vault: vault.db.storage.write(
        {"entries": {str(doc_id): {"n": 10 * doc_id} for doc_id in range(5, 0, -1)}}
    ),
    "truncate": lambda vault: vault.table("entries").truncate(),
    "new table": lambda vault: vault.table("papers").insert({"n": 9}),
    "drop_table": lambda vault: vault.db.drop_table("entries"),
    "drop_tables": lambda vault: vault.db.drop_tables(),
}


@pytest.mark.parametrize("step", ["write", "sync"])
@pytest.mark.parametrize("change", CHANGES)
def test_a_refused_change_leaves_the_view_and_the_file_as_they_were(
    station, faulty_disk, reopened, content, change: str, step: str
):
    """TinyDB changes what it read before it writes; with reads from memory that would be the live data."""
    before, ids = content(station), station.table("entries")._next_id
    found = station.table("entries").search(where("n") == 3)
    faulty_disk.fail[step] = refused(errno.ENOSPC)
    for _ in range(2):
        with pytest.raises(WriteRefused):
            CHANGES[change](station)
        assert content(station) == before
        assert station.table("entries").search(where("n") == 3) == found
    assert station.table("entries")._next_id in (ids, None)
    faulty_disk.fail.clear()
    again = reopened(station)
    assert content(again) == before and again.notices == []


@pytest.mark.parametrize("number", ERRORS)
@pytest.mark.parametrize("step", ["write", "sync"])
def test_each_failure_has_its_plain_message_and_work_goes_on(
    station, faulty_disk, reopened, content, number: int, step: str
):
    faulty_disk.fail[step] = refused(number)
    with pytest.raises(WriteRefused, match=ERRORS[number]) as told:
        station.table("entries").insert({"n": "refused"})
    assert "system" not in str(told.value) and told.value.__cause__ is None
    faulty_disk.fail.clear()
    station.table("entries").insert({"n": "taken"})
    expected = [*range(5), "taken"]
    assert [one["n"] for one in station.table("entries")] == expected
    assert [one["n"] for one in reopened(station).table("entries")] == expected


@pytest.mark.parametrize("torn", [1, 44, 46, 200])
def test_what_a_failed_write_left_behind_is_gone_at_once(station, faulty_disk, torn: int):
    end = station._journal._end
    faulty_disk.fail["write"], faulty_disk.torn_bytes = refused(errno.ENOSPC), torn
    with pytest.raises(WriteRefused):
        station.table("entries").insert({"n": 9})
    assert station.path.stat().st_size == end


@pytest.mark.parametrize("written", [1, 2])
def test_of_a_large_transaction_a_disk_that_fills_up_on_the_way_keeps_nothing(
    station, faulty_disk, reopened, content, monkeypatch, written: int
):
    """It is written a few hundred frames at a time; none of them counts before the last."""
    before, end = content(station), station.path.stat().st_size
    write, calls = faulty_disk.write, []

    def fills_up(file: int, data: bytes, at: int) -> None:
        calls.append(at)
        if len(calls) > written:
            raise refused(errno.ENOSPC)
        write(file, data, at)

    gathered = [{"n": 100 + number, "text": "x" * 250} for number in range(9000)]
    with monkeypatch.context() as patched, pytest.raises(WriteRefused, match="full"):
        patched.setattr(faulty_disk, "write", fills_up)
        station.table("entries").insert_multiple(gathered)
    assert len(calls) == written + 1 and station.path.stat().st_size <= end
    assert content(station) == before
    station.table("entries").insert_multiple(gathered)
    again = reopened(station)
    assert again.notices == [] and [one["n"] for one in again.table("entries")] == [
        *range(5),
        *(one["n"] for one in gathered),
    ]


def test_while_the_leftover_cannot_be_removed_nothing_more_is_written(station, faulty_disk, reopened):
    """The sync failed and so does the cut: writing on top could make a refused change come true."""
    faulty_disk.fail |= {"sync": refused(errno.EIO), "truncate": refused(errno.EIO)}
    with pytest.raises(WriteRefused):
        station.table("entries").insert({"n": "refused"})
    faulty_disk.fail.pop("sync")
    writes = faulty_disk.calls.count("write")
    with pytest.raises(WriteRefused):
        station.table("entries").insert({"n": "refused too"})
    assert faulty_disk.calls.count("write") == writes
    faulty_disk.fail.clear()
    station.table("entries").insert({"n": "taken"})
    assert [one["n"] for one in reopened(station).table("entries")] == [*range(5), "taken"]


def test_an_interrupt_in_the_middle_of_a_write_is_taken_back(station, faulty_disk, reopened, monkeypatch):
    def interrupted(file: int) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched, pytest.raises(KeyboardInterrupt):
        patched.setattr(faulty_disk, "sync", interrupted)
        station.table("entries").insert({"n": "a longer document than the next one" * 20})
    station.table("entries").insert({"n": "taken"})
    again = reopened(station)
    assert [one["n"] for one in again.table("entries")] == [*range(5), "taken"] and again.notices == []


def test_one_tap_is_one_write_and_one_sync(station, faulty_disk):
    station.table("entries").insert({"n": 5})  # reserves room
    faulty_disk.calls.clear()
    station.table("entries").insert({"n": 6})
    with station.transaction():
        station.table("entries").insert({"n": 7})
        station.table("settings").upsert({"last": 7}, where("last").exists())
    assert faulty_disk.calls == ["write", "sync"] * 2
    station.table("entries").update({"n": 7}, where("n") == 7)  # changes nothing
    station.table("entries").remove(where("n") == "nowhere")
    assert faulty_disk.calls == ["write", "sync"] * 2


def test_a_disk_that_cannot_reserve_is_not_asked_again(new_vault, faulty_disk):
    vault = new_vault(disk=faulty_disk)
    faulty_disk.fail["reserve"] = refused(errno.EOPNOTSUPP)
    for number in range(3):
        vault.table("entries").insert({"n": number})
    assert faulty_disk.calls.count("reserve") == 1


def test_the_reserve_still_takes_taps_when_the_disk_has_filled_up(new_vault, faulty_disk):
    """What was reserved needs no room: the system refuses new room only."""
    vault = new_vault(disk=faulty_disk)
    vault.table("entries").insert({"n": 0})
    faulty_disk.fail["reserve"] = refused(errno.ENOSPC)
    size = vault.path.stat().st_size
    for number in range(100):
        vault.table("entries").insert({"n": number})
    assert vault.path.stat().st_size == size


@pytest.mark.parametrize("step", ["create", "write", "sync", "replace"])
def test_a_failed_compaction_leaves_the_good_generation(
    station, faulty_disk, reopened, content, step: str, tmp_path: Path
):
    before, bytes_before = content(station), station.path.read_bytes()
    faulty_disk.fail[step] = refused(errno.ENOSPC)
    with pytest.raises(WriteRefused):
        station.compact()
    faulty_disk.fail.clear()
    assert station.path.read_bytes() == bytes_before
    assert [one.name for one in tmp_path.iterdir()] == [station.path.name]
    station.table("entries").insert({"n": 5})
    assert len(content(reopened(station))["entries"]) == len(before["entries"]) + 1


def test_a_medium_that_does_not_give_back_what_it_took_keeps_the_old_generation(
    station, faulty_disk, monkeypatch, reopened, content
):
    before = content(station)
    whole = type(faulty_disk).read

    def worn_out(disk, file: int) -> bytes:
        data = bytearray(whole(disk, file))
        data[-30] ^= 1
        return bytes(data)

    with monkeypatch.context() as patched, pytest.raises(WriteRefused):
        patched.setattr(type(faulty_disk), "read", worn_out)
        station.compact()
    assert content(reopened(station)) == before


def test_no_tap_counts_while_the_new_generations_name_may_still_be_lost(station, faulty_disk, reopened):
    """A crash could bring the old name back, and with it the state before the compaction."""
    faulty_disk.fail["sync_directory"] = refused(errno.EIO)
    station.compact()
    with pytest.raises(WriteRefused):
        station.table("entries").insert({"n": "refused"})
    faulty_disk.fail.clear()
    station.table("entries").insert({"n": "taken"})
    assert [one["n"] for one in reopened(station).table("entries")] == [*range(5), "taken"]


@pytest.mark.parametrize("step", ["write", "sync"])
def test_a_refused_change_of_passphrase_leaves_the_old_one_in_force(
    station, faulty_disk, reopened, passphrase, step: str
):
    faulty_disk.fail[step] = refused(errno.EIO)
    with pytest.raises(WriteRefused):
        station.change_passphrase(passphrase, "something else entirely")
    faulty_disk.fail.clear()
    assert len(reopened(station).table("entries")) == 5


@pytest.mark.parametrize("number", [errno.EROFS, errno.EACCES, errno.EIO])
def test_a_medium_that_cannot_be_written_is_told_at_opening(station, faulty_disk, passphrase, number: int):
    station.close()
    faulty_disk.fail["open"] = refused(number)
    with pytest.raises(WriteRefused, match="cannot be opened"):
        Vault.open(station.path, passphrase=passphrase, disk=faulty_disk)


@pytest.mark.parametrize("step", ["create", "write", "sync"])
def test_damage_is_not_cut_away_where_it_cannot_be_set_aside(
    station, faulty_disk, passphrase, step: str, tmp_path: Path
):
    end = station._journal._end
    station.close()
    data = bytearray(station.path.read_bytes())
    data[end - 5] ^= 1
    station.path.write_bytes(data)
    faulty_disk.fail[step] = refused(errno.ENOSPC)
    with pytest.raises(WriteRefused):
        Vault.open(station.path, passphrase=passphrase, disk=faulty_disk)
    assert station.path.read_bytes() == bytes(data)
    assert [one.name for one in tmp_path.iterdir()] == [station.path.name]


def test_a_store_that_cannot_be_created_leaves_nothing(new_vault, faulty_disk, tmp_path: Path):
    faulty_disk.fail["sync"] = refused(errno.ENOSPC)
    with pytest.raises(WriteRefused):
        new_vault(disk=faulty_disk)
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(WriteRefused, match="folder"):
        new_vault("no such folder/station.store")
