"""Over the network the book gets exactly what it gets by file, and the tablets learn what others did."""

from __future__ import annotations

import json
import shutil

from fieldapp.services.desk import Desk
from shared.hearing.examination import Examination
from shared.records.entries import Kind, Reason
from shared.records.standing import Person, Status
from tests.facts import FAIL, PASSPHRASE


def known(ledger) -> list[bytes]:
    return sorted(entry.canonical() for entry in ledger.register.all_variants())


def a_day(visit):
    a, b, c = visit.tablet("A"), visit.tablet("B"), visit.tablet("C", classes=["4A"])
    a.walk_script(a.find("S-1"), "++++++")
    b.walk_script(b.find("S-1"), FAIL)
    b.walk_script(b.find("S-2"), "++++++")
    c.not_tested(c.find("S-3"), Reason.ABSENT)
    added = c.add_child(Person("Dora", "Dogwood", "2018-06-01", grade="4", class_name="4A"))
    c.walk_script(added, "++++++")
    return a, b, c


def test_the_network_brings_what_files_bring(visit, room):
    stations = a_day(visit)
    # The reference: the same book, gathered by file.
    copy = visit.folder / "by-file.book"
    visit.desk.close()
    shutil.copy(visit.folder / "visit.book", copy)
    by_file = Desk.open(copy, PASSPHRASE, clock=visit.clock)
    by_file.gather([visit.give_back(station) for station in stations])
    visit.desk = Desk.open(visit.folder / "visit.book", PASSPHRASE, clock=visit.clock)
    with room(visit.desk) as open_room:
        sent = open_room.send(*stations)
    assert all(each.complete and each.new == each.sent > 3 for each in sent), sent
    assert known(visit.desk.ledger) == known(by_file.ledger)
    assert json.dumps(visit.desk.ledger.about["seen"], sort_keys=True) == json.dumps(
        by_file.ledger.about["seen"], sort_keys=True
    )
    assert list(map(repr, visit.desk.standings())) == list(map(repr, by_file.standings()))
    assert [doubt.id for doubt in visit.desk.doubts()] == [doubt.id for doubt in by_file.doubts()]
    by_file.close()


def test_again_adds_nothing_and_nothing_is_missing(visit, room):
    stations = a_day(visit)
    with room(visit.desk) as open_room:
        open_room.send(*stations)
        before = known(visit.desk.ledger)
        again = open_room.send(*stations)
        once_more = open_room.send(*stations)
    assert known(visit.desk.ledger) == before
    assert [each.new for each in again] == [0, 0, 0]
    assert [(each.sent, each.told) for each in once_more] == [(0, 0)] * 3
    assert all(not device.missing and device.entries == device.highest for device in visit.desk.devices())


def test_no_child_is_walked_twice_after_a_gathering_in_between(visit, room):
    a, b, c = a_day(visit)
    with room(visit.desk) as open_room:
        open_room.send(a, b, c)
        open_room.send(a, b, c)
    assert a.standing(a.find("S-2")).status is Status.PASSED
    assert a.standing(a.find("S-3")).status is Status.ABSENT
    # S-1 passed on A and missed on B: the more cautious result, on every tablet that has the child.
    assert {s.standing(s.find("S-1")).status for s in (a, b)} == {Status.RESCREEN}
    assert c.find("S-1") is None
    assert not [
        entry for entry in c.ledger.register.entries() if entry.device == b.ledger.device and entry.child
    ]
    assert {s.person.given for s in a.standings()} == {"Ada", "Ben", "Cy", "Inés", "Dora"}


def test_a_child_in_hand_stays_in_hand(visit, room):
    a, b = visit.tablet("A"), visit.tablet("B")
    child = a.find("S-1")
    a.begin(child)
    a.answer(True)
    b.walk_script(b.find("S-1"), FAIL)
    with room(visit.desk) as open_room:
        open_room.send(b)
        (sent,) = open_room.send(a)
        assert sent.told > 0
        assert a.current is not None and a.current[0] == child
        for _ in range(5):
            a.answer(True)
        a.finish()
        (sent,) = open_room.send(a)
    assert sent.complete
    assert visit.desk.ledger.register.standing(visit.child("S-1")).status is Status.RESCREEN


def test_a_tablet_set_back_gets_its_own_entries_again(visit, room):
    from fieldapp.services.station import Station

    a = visit.tablet("A")
    a.close()
    store, saved = visit.folder / "A.store", visit.folder / "saved.store"
    shutil.copy(store, saved)
    a = Station.open(store, PASSPHRASE, clock=visit.clock)
    a.walk_script(a.find("S-1"), "++++++")
    highest = a.ledger.counter
    with room(visit.desk) as open_room:
        open_room.send(a)
        a.close()
        shutil.copy(saved, store)
        a = Station.open(store, PASSPHRASE, clock=visit.clock)
        visit.stations[:] = [a]
        lost = highest - a.ledger.counter
        assert lost > 0
        (sent,) = open_room.send(a)
        assert sent.told == lost
        assert a.ledger.counter == highest
        a.walk_script(a.find("S-2"), "++++++")
        (sent,) = open_room.send(a)
    assert sent.complete
    assert not visit.desk.ledger.register.variants


def test_two_different_entries_of_one_id_both_arrive(visit, room):
    from fieldapp.services.station import Station

    a = visit.tablet("A")
    a.close()
    store, other = visit.folder / "A.store", visit.folder / "other.store"
    shutil.copy(store, other)
    a, twin = (Station.open(path, PASSPHRASE, clock=visit.clock) for path in (store, other))
    visit.stations[:] = [a, twin]
    a.walk_script(a.find("S-1"), "++++++")
    twin.walk_script(twin.find("S-1"), FAIL)
    with room(visit.desk) as open_room:
        open_room.send(a)
        open_room.send(twin)
        open_room.send(a)
        last = open_room.send(a, twin)
    assert visit.desk.ledger.register.variants
    assert known(a.ledger) == known(twin.ledger) == known(visit.desk.ledger)
    assert [(each.sent, each.told) for each in last] == [(0, 0), (0, 0)]


def test_two_leads_with_copies_of_one_book_come_to_the_same_children(visit, room):
    """Each has its own part of the day, and each has written under the same numbers; the tablets carry all but what a
    book wrote from one to the other, and lose nothing of what both wrote."""
    a, b = visit.tablet("A"), visit.tablet("B")
    visit.desk.close()
    copy = visit.folder / "copy.book"
    shutil.copy(visit.folder / "visit.book", copy)
    visit.desk, other = (
        Desk.open(path, PASSPHRASE, clock=visit.clock) for path in (visit.folder / "visit.book", copy)
    )
    a.walk_script(a.find("S-1"), "++++++")
    b.walk_script(b.find("S-2"), FAIL)
    visit.desk.office.correct(visit.child("S-3"), {"family": "Elder"})
    other.office.correct(visit.child("S-4"), {"family": "Fir"})
    with room(visit.desk) as ours, room(other) as theirs:
        for station, first, second in ((a, ours, theirs), (b, theirs, ours)):
            for lead in (first, second):
                (sent,) = lead.send(station)
                assert sent.complete
        for lead in (ours, theirs, ours):
            lead.send(a, b)
    wanted = {"S-1": Status.PASSED, "S-2": Status.RESCREEN}
    for holder in (visit.desk, other):
        statuses = {s.person.student_number: s.status for s in holder.standings()}
        assert {number: statuses[number] for number in wanted} == wanted
    families = {a.standing(a.find(number)).person.family for number in ("S-3", "S-4")}
    assert families == {"Elder", "Fir"} == {b.standing(b.find(n)).person.family for n in ("S-3", "S-4")}
    other.close()


def test_the_screens_may_pump_both_sides_on_one_thread(visit, room):
    from fieldapp.services.nearby import Sender

    a = visit.tablet("A")
    a.walk_script(a.find("S-1"), "++++++")
    shown = []
    with room(visit.desk) as open_room:
        sender = Sender(a, open_room.address, tell=shown.append, patience=open_room.patience)
        sender.start()
        while sender.work():
            open_room.listener.work(0.01)
        sent = sender.result()
        open_room.work_until(lambda: open_room.told and open_room.told[-1].state == "done")
        (heard,) = open_room.listener.heard
    assert sent.complete and sent.sent == a.ledger.counter
    assert (heard.tablet, heard.state, heard.new, heard.held) == ("A", "done", sent.sent, sent.held)
    assert shown[-1].sent == shown[-1].total == sent.sent
    assert Kind.SCREENING_FINISHED in {e.kind for e in visit.desk.ledger.register.entries()}


def test_an_examiners_audiogram_stays_in_the_book(visit, room):
    """Neither a new handout nor the network brings it to a tablet; the closing of the case does come."""
    early = visit.tablet("A")
    child = visit.child("S-1")
    reply = Examination.from_dict({"examined": "2026-10-14", "right": {"air": {"1000": 30}}})
    visit.desk.office.note_examination(child, reply)
    visit.desk.followup.note_step([child], "moved")
    late = visit.tablet("B")
    with room(visit.desk) as open_room:
        (sent,) = open_room.send(early)
    assert sent.told > 0
    for station in (early, late):
        assert not station.ledger.register.entries(Kind.EXAMINATION_NOTED)
        assert station.standing(child).status is Status.CLOSED
