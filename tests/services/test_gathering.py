"""Several tablets, one result set: nothing lost, nothing twice, in any order (invariants 3, 4 and 5)."""

from __future__ import annotations

import itertools

import pytest

from fieldapp.services.desk import Desk
from fieldapp.services.station import Station
from shared.errors import Damaged, ForeignFile, NewerVersion, Refused
from shared.records.entries import Kind, Reason
from shared.records.standing import Person, Status
from sync.doubts import DoubtKind
from tests.facts import FAIL, PASSPHRASE


@pytest.fixture
def day(visit):
    """Three tablets that have screened; the same child passes on A and not on B."""
    a, b, c = visit.tablet("A"), visit.tablet("B"), visit.tablet("C")
    a.walk_script(a.find("S-1"), "++++++")
    b.walk_script(b.find("S-1"), FAIL)
    b.walk_script(b.find("S-2"), "++++++")
    c.not_tested(c.find("S-3"), Reason.ABSENT)
    added = c.add_child(Person("Dora", "Dogwood", "2018-06-01", grade="3", class_name="3B"))
    c.walk_script(added, "++++++")
    return [visit.give_back(station) for station in (a, b, c)]


def test_a_gathering_adds_up_and_again_adds_nothing(visit, day):
    gathering = visit.desk.gather(day)
    assert (gathering.listed, gathering.added, gathering.joined, gathering.children) == (4, 1, 0, 5)
    assert sum(gathering.statuses.values()) == 5
    assert gathering.statuses[Status.RESCREEN] == 1
    assert all(each.new and not each.missing and each.problem is None for each in gathering.returns)
    before = len(visit.desk.ledger.register)
    again = visit.desk.gather(day)
    assert [each.new for each in again.returns] == [0, 0, 0]
    assert len(visit.desk.ledger.register) == before
    assert again.statuses == gathering.statuses


def test_every_order_gives_the_same(visit, day, tmp_path):
    import shutil

    visit.desk.close()
    shown = []
    for number, order in enumerate(itertools.permutations(day)):
        copy = tmp_path / f"copy-{number}.book"
        shutil.copytree(visit.folder / "visit.book", copy) if (
            visit.folder / "visit.book"
        ).is_dir() else shutil.copy(visit.folder / "visit.book", copy)
        desk = Desk.open(copy, PASSPHRASE, clock=visit.clock)
        for file in order:
            desk.gather([file])
        shown.append((sorted(map(repr, desk.standings())), sorted(doubt.id for doubt in desk.doubts())))
        desk.close()
    assert all(each == shown[0] for each in shown)


def test_results_that_disagree_are_a_doubt_until_the_lead_rules(visit, day):
    desk = visit.desk
    desk.gather(day)
    (doubt,) = [d for d in desk.doubts() if d.kind is DoubtKind.RESULTS_DISAGREE]
    with pytest.raises(Refused, match="no decision"):
        desk.settle(doubt.id, "perhaps")
    desk.settle(doubt.id, "passed")
    assert desk.ledger.register.standing(visit.child("S-1")).status is Status.PASSED
    assert not [d for d in desk.doubts() if d.kind is DoubtKind.RESULTS_DISAGREE]
    with pytest.raises(Refused, match="no open doubt"):
        desk.settle(doubt.id, "passed")
    desk.unsettle(doubt.id)
    assert desk.ledger.register.standing(visit.child("S-1")).status is Status.RESCREEN
    assert doubt.id in [each.id for each in desk.doubts()]
    with pytest.raises(Refused, match="no decision on that doubt"):
        desk.unsettle(doubt.id)
    desk.settle(doubt.id, "rescreen")
    assert desk.ledger.register.standing(visit.child("S-1")).ruled


def test_a_look_alike_is_a_doubt_or_joined_and_the_sum_still_holds(visit):
    station = visit.tablet("A")
    added = station.add_child(Person("Ada", "Aldr", "2018-03-14", grade="3", class_name="3B"))
    station.walk_script(added, "++++++")
    gathering = visit.desk.gather([visit.give_back(station)])
    assert gathering.listed + gathering.added - gathering.joined == gathering.children
    kinds = [doubt.kind for doubt in visit.desk.doubts()]
    assert (gathering.joined == 1) != (DoubtKind.SAME_CHILD in kinds)
    if DoubtKind.SAME_CHILD in kinds:
        (doubt,) = [d for d in visit.desk.doubts() if d.kind is DoubtKind.SAME_CHILD]
        visit.desk.settle(doubt.id, "one")
        visit.desk.unsettle(doubt.id)
        assert len(visit.desk.standings()) == 5
        visit.desk.settle(doubt.id, "one")
    assert len(visit.desk.standings()) == 4
    assert visit.desk.ledger.register.standing(visit.child("S-1")).status is Status.PASSED


def test_a_look_alike_that_the_screener_said_no_to_is_never_joined_silently(visit):
    station = visit.tablet("A")
    alder = Person("Ada", "Aldr", "2018-03-14", grade="3", class_name="3B", added=True)
    shown = [pair.b for pair in station.lookalikes(alder)]
    assert visit.child("S-1") in shown
    added = station.add_child(alder, unlike=shown)
    station.walk_script(added, "++++++")
    assert visit.desk.gather([visit.give_back(station)]).joined == 0
    (doubt,) = [d for d in visit.desk.doubts() if d.kind is DoubtKind.SAME_CHILD]
    assert set(doubt.subjects) == {added, visit.child("S-1")}
    assert doubt.reasons[-1] == "whoever added the child was shown the other and said no"
    visit.desk.settle(doubt.id, "one")
    assert visit.desk.doubts() == []
    assert len(visit.desk.standings()) == 4
    assert visit.desk.joins() == []  # a person's join, not the evidence's


def test_what_the_evidence_joined_can_be_taken_apart_and_joined_again(visit):
    station = visit.tablet("A")
    added = station.add_child(Person("Ada", "Alder", "2018-03-14", grade="3", class_name="3B", added=True))
    station.walk_script(added, "++++++")
    assert visit.desk.gather([visit.give_back(station)]).joined == 1
    (join,) = visit.desk.joins()
    assert set(join.subjects) == {added, visit.child("S-1")}
    visit.desk.settle(join.id, "two")
    assert (len(visit.desk.standings()), visit.desk.joins(), visit.desk.doubts()) == (5, [], [])
    visit.desk.gather([])  # the evidence has not changed; what a person decided stands
    assert len(visit.desk.standings()) == 5
    visit.desk.unsettle(join.id)
    assert (len(visit.desk.standings()), len(visit.desk.joins())) == (4, 1)


def test_two_tablets_from_one_handout_are_both_taken_and_told(visit):
    first, second = visit.tablet("A"), visit.tablet("A", store="A-again")
    assert first.ledger.device != second.ledger.device
    first.walk_script(first.find("S-1"), "++++++")
    second.walk_script(second.find("S-2"), "++++++")
    gathering = visit.desk.gather([visit.give_back(first), visit.give_back(second)])
    assert gathering.statuses[Status.PASSED] == 2
    assert DoubtKind.SHARED_HANDOUT in [doubt.kind for doubt in visit.desk.doubts()]


def test_bad_returns_are_refused_each_in_its_own_words_and_the_book_is_untouched(visit, day, tmp_path):
    whole = day[0].read_bytes()
    before = len(visit.desk.ledger.register)
    cases = {
        "short": (whole[:-70], Damaged, "cut short"),
        "empty": (b"", ForeignFile, "not a Quietbell return"),
        "altered": (whole[:300] + bytes([whole[300] ^ 1]) + whole[301:], Damaged, "altered"),
        "foreign": (b"%PDF-1.7 and so on" * 20, ForeignFile, "not a Quietbell return"),
        "newer": (whole[:8] + b"\x63" + whole[9:], NewerVersion, "newer"),
        "handout": ((visit.folder / "A.handout").read_bytes(), ForeignFile, "is a handout"),
        "longer": (whole + b"x", Damaged, "altered"),
    }
    for name, (data, error, words) in cases.items():
        file = tmp_path / f"{name}.ret"
        file.write_bytes(data)
        (told,) = visit.desk.gather([file]).returns
        assert type(told.problem) is error, name
        assert words in told.problem.happened, name
    assert len(visit.desk.ledger.register) == before


def test_a_return_of_another_visit_is_refused(visit, tmp_path_factory):
    other = type(visit)(tmp_path_factory.mktemp("other"))
    station = other.tablet("A")
    (told,) = visit.desk.gather([other.give_back(station)]).returns
    assert isinstance(told.problem, ForeignFile)
    assert "another visit" in told.problem.happened
    station.close()
    other.desk.close()


def test_a_handout_of_one_class_holds_that_class_only(visit):
    station = visit.tablet("A", classes=["4A"])
    assert [s.person.student_number for s in station.rows()] == ["S-4", "S-3"]
    with pytest.raises(Refused, match="no class 9Z"):
        visit.desk.hand_out("B", visit.folder / "B.handout", PASSPHRASE, classes=["9Z"])


def test_a_restored_copy_that_went_on_keeps_both_and_raises_a_doubt(visit):
    import shutil

    station = visit.tablet("A")
    store = visit.folder / "A.store"
    station.close()
    visit.stations.clear()
    copy = visit.folder / "copy.store"
    (shutil.copytree if store.is_dir() else shutil.copy)(store, copy)
    first = Station.open(store, PASSPHRASE, clock=visit.clock)
    second = Station.open(copy, PASSPHRASE, clock=visit.clock)
    visit.stations += [first, second]
    first.walk_script(first.find("S-1"), "++++++")
    second.walk_script(second.find("S-1"), FAIL)
    files = []
    for number, station in enumerate((first, second)):
        file = visit.folder / f"{number}.ret"
        station.give_back(file)
        files.append(file)
    gathering = visit.desk.gather(files)
    assert gathering.returns[1].new > 0
    assert DoubtKind.TWO_ENTRIES in [doubt.kind for doubt in visit.desk.doubts()]
    assert visit.desk.ledger.register.entries(Kind.SCREENING_BEGUN)


def test_a_return_with_fewer_entries_than_before_is_told_though_the_file_alone_looks_whole(visit):
    station = visit.tablet("A")
    store, copy = visit.folder / "A.store", visit.folder / "old-copy"
    copy.write_bytes(store.read_bytes())
    station.walk_script(station.find("S-1"), FAIL)
    visit.desk.gather([visit.give_back(station)])
    assert visit.desk.doubts() == []
    station.close()
    visit.stations.remove(station)
    store.write_bytes(copy.read_bytes())
    visit.pass_time(hours=1)
    restored = Station.open(store, PASSPHRASE, clock=visit.clock)
    visit.stations.append(restored)
    gathering = visit.desk.gather([visit.give_back(restored, "restored")])
    assert gathering.returns[0].new == 0
    (doubt,) = visit.desk.doubts()
    assert doubt.kind is DoubtKind.OLDER_COPY
    assert visit.desk.ledger.register.standing(visit.child("S-1")).status is Status.RESCREEN


def test_the_lead_replaces_a_forgotten_passphrase_and_nothing_is_lost(visit):
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), "++++++")
    station.close()
    visit.stations.remove(station)
    visit.desk.reopen_tablet(visit.folder / "A.store", "four other grey herons")
    again = Station.open(visit.folder / "A.store", "four other grey herons", clock=visit.clock)
    visit.stations.append(again)
    assert again.standing(again.find("S-1")).status is Status.PASSED
