"""Returns that are sealed and signed as they should be, and hold what no tablet writes: a tablet's keys can be lost.

Each is refused whole and leaves the book as it was, byte for byte; what is taken in can be read ever after.
"""

from __future__ import annotations

from copy import deepcopy

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from fieldapp.services.desk import Desk
from shared.errors import Damaged
from shared.records.entries import Kind
from shared.records.standing import Person
from sync.handout import unpack_key
from sync.sealed import FileKind, seal
from tests.facts import FAIL, PASSPHRASE


@pytest.fixture
def station(visit):
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), FAIL)
    station.add_child(Person("Wren", "Oak", "2018-01-02", address=("1 Elm St",), added=True))
    child, test = station.find("S-3"), f"{station.ledger.counter + 1}@{station.ledger.device}"
    station.ledger.write((Kind.THRESHOLD_BEGUN, {"child": child}))
    tone = {"child": child, "test": test, "ear": "right", "hz": 1000}
    station.ledger.write((Kind.THRESHOLD_FOUND, {**tone, "threshold_db_hl": 30, "limit_db_hl": 90}))
    station.ledger.write((Kind.SAME_CHILD, {"records": [child, child], "evidence": []}))
    return station


def forged(visit, station, change):
    """The station's return with its lines changed, signed all the same."""
    about = station.ledger.about
    lines = [
        deepcopy(entry.to_document()) for entry in station.ledger.register.entries_of(station.ledger.device)
    ]
    change(lines, {line["kind"]: line for line in lines})
    names = ("visit", "tablet_id", "handout_made_at", "received_at")
    first = {name: about[name] for name in names} | {
        "device": station.ledger.device,
        "made_at": about["received_at"],
        "highest": len(lines),
    }
    file = visit.folder / "forged.return"
    file.write_bytes(
        seal(
            FileKind.RETURN,
            {"visit": about["visit"], "tablet": about["tablet_id"]},
            [first, *lines],
            receiver=unpack_key(about["lead_sealing"]),
            maker=Ed25519PrivateKey.from_private_bytes(unpack_key(about["signing"])),
        )
    )
    return file


def body(kind, **odd):
    return lambda lines, by_kind: by_kind[kind]["body"].update(odd)


def line(**odd):
    return lambda lines, by_kind: lines[0].update(odd)


HOSTILE = {
    "a stamp that is none": line(stamp="soon"),
    "a stamp that nothing could follow": line(stamp="999999999999999.999999@x"),
    "a time without a zone": line(at="2026-10-14T08:30:00"),
    "a time in another form": line(at="20261014T083000-05:00"),
    "a year without a next one": line(at="9999-12-31T08:30:00-05:00"),
    "an entry of another visit": line(visit="another"),
    "a counter of minus one": line(id="-1@x"),
    "a counter beyond all bounds": line(id="99999999@x"),
    "a kind that nobody knows": line(kind="visit-forged"),
    "a body that is a list": line(body=[]),
    "a level that is a truth": body("tone-answered", level_db_hl=True),
    "a level of a thousand": body("tone-answered", level_db_hl=1000),
    "an ear in the middle": body("tone-answered", ear="middle"),
    "a frequency of nought": body("tone-answered", hz=0),
    "presentations in words": body("tone-answered", presentations="twice"),
    "tones left out in words": body("screening-begun", drop=["all"]),
    "tones left out, no list": body("screening-begun", drop=4000),
    "a threshold in words": body("threshold-found", threshold_db_hl="loud"),
    "an address that is a number": body("child-added", address=7),
    "evidence that is nothing": body("same-child", evidence=None),
    "the visit prepared anew": line(kind="visit-prepared", body={"school": "x", "protocol": {}, "dates": []}),
}


def test_what_no_tablet_writes_is_refused_and_the_book_untouched(visit, station):
    book = visit.folder / "visit.book"
    before = book.read_bytes()
    for name, change in HOSTILE.items():
        (told,) = visit.desk.gather([forged(visit, station, change)]).returns
        assert type(told.problem) is Damaged, name
        assert book.read_bytes() == before, name


def test_a_return_with_entries_of_the_book_itself_is_refused(visit, station):
    mine = visit.desk.ledger.device
    (told,) = visit.desk.gather([forged(visit, station, line(id=f"9999999@{mine}"))]).returns
    assert "only the visit book writes" in told.problem.happened
    assert visit.desk.ledger.counter < 10


def test_the_same_return_as_it_was_written_is_taken(visit, station):
    (told,) = visit.desk.gather([forged(visit, station, lambda lines, by_kind: None)]).returns
    assert told.problem is None and not told.missing


@pytest.mark.parametrize("odd", [None, "", "x", -1, 10**30, 1.5, [], ["x"], {}, "2026-13-45"])
def test_whatever_was_taken_in_can_be_read_ever_after(visit, station, odd):
    """Fields that nothing is known of here may hold anything."""
    known = {"visit": visit.folder / "visit.book"}
    for kind, field in (
        *(("child-added", each) for each in ("born", "grade", "class", "student_number", "language")),
        *(("screening-begun", each) for each in ("grade", "after", "replaces", "readiness", "knowing")),
        ("threshold-begun", "why"),
    ):
        visit.desk.gather([forged(visit, station, body(kind, **{field: odd}))])
        visit.desk.closing.unfinished()
    visit.desk.followup.open_cases()
    visit.desk.ledger.write((Kind.DOUBT_SETTLED, {"doubt": "d0"}))  # the book can still be written
    visit.desk.close()
    visit.desk = Desk.open(known["visit"], PASSPHRASE, clock=visit.clock)
    assert visit.desk.standings()
