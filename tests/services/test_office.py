"""The office: newer rosters, corrections, examiners' audiograms; closing the visit, wiping a gathered tablet."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from fieldapp.roster import RosterRow
from shared.errors import Refused
from shared.hearing.examination import Examination
from shared.records.standing import Person, Status
from tests.facts import FAIL


def rows(*people):
    return [RosterRow(line, person) for line, person in enumerate(people, 2)]


def test_a_newer_roster_updates_adds_and_marks_leavers_and_never_doubles(visit):
    desk = visit.desk
    newer = rows(
        Person("Ada", "Alder", "2018-03-14", "S-1", "3", "3C"),
        Person("Ben", "Birch", "2018-11-02", "S-2", "3", "3B"),
        Person("Inés", "Castaño Ruiz", "2017-05-21", "S-4", "4", "4A"),
        Person("Eve", "Elm", "2017-09-09", "S-9", "4", "4A"),
    )
    update = desk.office.update_roster(newer)
    assert (update.added, update.corrected, update.left, update.unchanged) == (1, 1, 1, 2)
    again = desk.office.update_roster(newer)
    assert (again.added, again.corrected, again.left) == (0, 0, 0)
    people = {s.person.student_number: s.person for s in desk.standings()}
    assert set(people) == {"S-1", "S-2", "S-4", "S-9"}
    assert people["S-1"].class_name == "3C"
    back = desk.office.update_roster([*newer, *rows(Person("Cy", "Cedar", "2017-01-30", "S-3", "4", "4A"))])
    assert back.returned == 1
    assert len(desk.standings()) == 5


def test_a_visit_is_closed_only_when_nothing_is_left(visit):
    station = visit.tablet("A")
    desk = visit.desk
    with pytest.raises(Refused, match="not finished") as refused:
        desk.closing.close()
    assert "Tablet A has not given back." in refused.value.todo
    station.walk_script(station.find("S-1"), "++++++")
    desk.gather([visit.give_back(station)])
    desk.closing.close()
    assert desk.closing.closed


def test_a_tablet_is_wiped_only_with_the_code_of_what_is_on_it(visit):
    station = visit.tablet("A")
    desk = visit.desk
    station.walk_script(station.find("S-1"), "++++++")
    desk.gather([visit.give_back(station)])
    code = desk.receipt(station.ledger.device)
    station.walk_script(station.find("S-2"), "++++++")
    with pytest.raises(Refused, match="does not belong"):
        station.wipe(code)
    desk.gather([visit.give_back(station)])
    visit.stations.remove(station)
    station.wipe(desk.receipt(station.ledger.device))
    assert not (visit.folder / "A.store").exists()


def test_a_wrong_clock_is_a_doubt_with_its_offset(visit):
    right, ahead, back = visit.tablet("A"), visit.tablet("B"), visit.tablet("C")
    right.walk_script(right.find("S-1"), "++++++")
    visit.pass_time(days=280)
    visit.ready_again(ahead)
    ahead.walk_script(ahead.find("S-2"), "++++++")
    late = visit.give_back(ahead)
    visit.pass_time(days=-280)
    back.walk_script(back.find("S-3"), "++++++")
    visit.pass_time(hours=-5)
    back.walk_script(back.find("S-4"), "++++++")
    visit.pass_time(hours=6)
    visit.desk.gather([visit.give_back(right), late, visit.give_back(back)])
    reasons = [reason for doubt in visit.desk.doubts() for reason in doubt.reasons]
    assert any("ahead of the lead's clock by at least 2" in reason for reason in reasons)
    assert any("set back by 5 hours" in reason for reason in reasons)
    assert any("days away from the visit" in reason for reason in reasons)
    assert len(visit.desk.doubts()) == 2
    assert visit.desk.counts()[Status.PASSED] == 4
    for doubt in visit.desk.doubts():
        visit.desk.settle(doubt.id, "noted")
    assert visit.desk.doubts() == []


def test_a_tablet_handed_out_anew_for_the_rescreen_day_is_no_doubt(visit):
    station = visit.tablet("A")
    station.walk_script(station.find("S-1"), FAIL)
    visit.desk.gather([visit.give_back(station)])
    visit.pass_time(days=21)
    visit.desk.hand_out("A", visit.folder / "second.handout", "seven quiet bells ring")
    (visit.folder / "second.handout").rename(visit.folder / "A.handout")
    again = visit.tablet("A", store="second")
    assert again.standing(again.find("S-1")).status is Status.RESCREEN
    again.walk_script(again.find("S-1"), "++++++")
    visit.desk.gather([visit.give_back(again)])
    assert visit.desk.doubts() == []
    assert visit.desk.ledger.register.standing(visit.child("S-1")).status is Status.PASSED


# -- correcting a child --------------------------------------------------------------------------


def test_a_child_is_corrected_and_earlier_values_are_kept(visit):
    from shared.records.people import corrections

    office, register = visit.desk.office, visit.desk.ledger.register
    child = visit.child("S-1")
    typed = {
        "family": " Alderson ",
        "born": "14 Mar 2017",
        "grade": "3rd",
        "language": "Spanish",
        "address": ["12 Mill Lane", "", "Quillmarsh 04210"],
        "guardian": "",
        "class_name": "3B",
    }
    assert office.correct(child, typed) == ["family", "born", "language", "address"]
    person = register.standing(child).person
    assert (person.family, person.born, person.grade) == ("Alderson", "2017-03-14", "3")
    assert (person.language, person.address) == ("es", ("12 Mill Lane", "Quillmarsh 04210"))
    assert office.correct(child, {"family": "Alder"}) == ["family"]
    told = corrections(register.entry(child), register.about(child))
    assert [(each.field, each.before, each.after) for each in told] == [
        ("address", "", "12 Mill Lane; Quillmarsh 04210"),
        ("born", "2018-03-14", "2017-03-14"),
        ("family", "Alder", "Alderson"),
        ("language", "", "es"),
        ("family", "Alderson", "Alder"),
    ]
    assert office.correct(child, {"family": "Alder"}) == []


@pytest.mark.parametrize(
    ("field", "text", "why"),
    [
        ("family", "", "name is missing"),
        ("given", "A 5550123", "no name"),
        ("born", "3/4/2018", "two ways"),
        ("born", "2018-02-30", "not a date"),
        ("born", "1918-03-14", "no birth date"),
        ("grade", "blue", "no grade"),
        ("language", "gibberish", "language is not known"),
        ("student_number", "1.2E+11", "no student number"),
        ("student_number", "s-2", "Another child has this"),
        ("class_name", "x" * 41, "no class"),
        ("address", "a;b;c;d;e;f;g", "no address"),
    ],
)
def test_a_bad_value_is_refused_by_its_field_and_nothing_changes(visit, field, text, why):
    from fieldapp.services.child_data import FieldsRefused

    child = visit.child("S-1")
    before = visit.desk.ledger.register.standing(child).person
    with pytest.raises(FieldsRefused) as refused:
        visit.desk.office.correct(child, {"guardian": "Ann Alder", field: text})
    assert list(refused.value.fields) == [field]
    assert why in refused.value.fields[field].happened
    assert visit.desk.ledger.register.standing(child).person == before


def test_a_joined_record_neither_fills_an_emptied_field_nor_keeps_the_old_number(visit):
    station = visit.tablet("A")
    added = station.add_child(Person("Ada", "Alder", "2018-03-14", "", "3", "3B", guardian="Ann", added=True))
    desk = visit.desk
    desk.gather([visit.give_back(station)])
    child = visit.child("S-1")
    assert desk.ledger.register.standing(child).records == (child, added)
    assert desk.ledger.register.standing(child).person.guardian == "Ann"
    desk.office.correct(child, {"guardian": "", "student_number": "S-77"})
    person = desk.ledger.register.standing(added).person
    assert (person.guardian, person.student_number) == ("", "S-77")
    assert desk.ledger.register.people()[added].student_number == ""


def test_correcting_a_leaver_does_not_bring_the_child_back(visit):
    desk = visit.desk
    station = visit.tablet("A")
    station.walk_script(station.find("S-3"), "++++++")
    desk.gather([visit.give_back(station)])
    child = visit.child("S-3")
    desk.office.update_roster(rows(*(p for p in (Person("Ada", "Alder", "2018-03-14", "S-1", "3", "3B"),))))
    assert desk.ledger.register.standing(child).person.left
    desk.office.correct(child, {"class_name": "4B"})
    person = desk.ledger.register.standing(child).person
    assert person.left and person.class_name == "4B"


REPLY = {
    "examined": "2026-11-30",
    "examiner": "County clinic",
    "right": {"air": {"1000": 30}},
    "note": "sit near",
}


def test_an_examiners_audiogram_is_kept_corrected_and_taken_out(visit):
    desk, child = visit.desk, visit.child("S-1")
    office = desk.office
    visit.pass_time(days=60)  # 13 December
    reply = Examination.from_dict(REPLY)
    first = office.note_examination(child, reply, day=date(2026, 12, 4))

    def kept():
        return [each.id for each in desk.ledger.register.standing(child).examinations]

    (followup,) = desk.ledger.register.standing(child).followups
    assert (followup.step, followup.day, followup.note) == ("findings", "2026-12-04", "sit near")
    assert (
        visit.desk.followup.last_step(child) is None
    )  # there is no step to undo: the audiogram is taken out as such
    corrected = office.note_examination(
        child, Examination.from_dict({**REPLY, "examiner": "x"}), replaces=first
    )
    assert kept() == [corrected]
    second = office.note_examination(child, Examination.from_dict({**REPLY, "examined": "2026-12-10"}))
    assert kept() == [corrected, second]
    with pytest.raises(Refused, match="no such audiogram"):
        office.note_examination(child, reply, replaces=first)
    office.withdraw_examination(child, corrected)
    assert kept() == [second]
    with pytest.raises(Refused, match="no such audiogram"):
        office.withdraw_examination(child, corrected)
    with pytest.raises(Refused, match="no such audiogram"):
        office.withdraw_examination(visit.child("S-2"), second)


def test_an_examination_that_lies_ahead_is_refused_naming_the_field(visit):
    office = visit.desk.office
    with pytest.raises(Refused, match="field 'examined' lies ahead"):
        office.note_examination(visit.child("S-1"), Examination.from_dict(REPLY))
    today = Examination.from_dict({**REPLY, "examined": "2026-10-14"})
    with pytest.raises(Refused, match="field 'day' lies ahead"):
        office.note_examination(visit.child("S-1"), today, day=date(2026, 10, 15))
    office.note_examination(visit.child("S-1"), today)


def test_a_child_is_found_by_number_or_record(visit):
    office, child = visit.desk.office, visit.child("S-3")
    assert office.find("S-3") == office.find(child) == child
    for nobody in ("S-77", ""):
        with pytest.raises(Refused, match="no child of that number"):
            office.find(nobody)


def test_a_list_with_the_old_value_undoes_no_correction_and_a_new_value_does(visit):
    desk = visit.desk
    listed = [s.person for s in desk.standings()]
    child = visit.child("S-1")
    desk.office.correct(child, {"family": "Alderson", "student_number": "S-100"})
    update = desk.office.update_roster(rows(*listed))  # the school's list is as wrong as before
    assert (update.added, update.corrected, update.left, update.unchanged) == (0, 0, 0, 4)
    person = desk.ledger.register.standing(child).person
    assert (person.family, person.student_number) == ("Alderson", "S-100")
    mended = [replace(p, student_number="S-100") if p.student_number == "S-1" else p for p in listed]
    update = desk.office.update_roster(rows(*mended))
    assert (update.added, update.left) == (0, 0)
    renamed = [replace(p, family="Alder-Oak") if p.student_number == "S-100" else p for p in mended]
    assert desk.office.update_roster(rows(*renamed)).corrected == 1
    assert desk.ledger.register.standing(child).person.family == "Alder-Oak"
