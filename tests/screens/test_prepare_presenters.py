"""Preparing a visit, a newer roster and the first screen without a window, on a real visit book."""

from __future__ import annotations

import pytest

from fieldapp.screens.child.presenter import ChildPresenter
from fieldapp.screens.prepare.presenter import PreparePresenter
from fieldapp.screens.roster.presenter import RosterPresenter
from fieldapp.screens.translation import Translator
from fieldapp.screens.welcome.presenter import WelcomePresenter
from fieldapp.services.office import RosterUpdate
from shared.records.standing import Status
from tests.facts import PASSPHRASE


def test_preparing_and_a_newer_list_say_who_is_exempt_and_who_is_due_again(lead, tmp_path):
    heads = "Student ID,Last Name,First Name,DOB,Grade,Class,Opt out date\n"
    lines = "S-10432,Velloso,Amara,2018-03-14,3,3B,2026-01-20\nS-10462,Wetherell,Tobias,2017-11-02,3,3B,2025-09-01\n"
    (tmp_path / "list.csv").write_text(heads + lines, "utf-8")
    prepare = lead.show(PreparePresenter)
    prepare.read(tmp_path / "list.csv")
    prepare.choose_protocol("california-2951")  # a refusal stands for twelve months
    said = "Exempt by what is on file: 1. Due again because that has run out: 1."
    assert said in prepare.plan_words()
    prepare.choose_protocol("illinois-675")  # there it has no end
    assert "on file: 2. Due again because that has run out: 0." in prepare.plan_words()
    roster = lead.show(RosterPresenter)
    roster.read(tmp_path / "list.csv")
    roster.take()
    lead.choose("Yes, take it in")  # most children of the book stand in no row of it
    assert "Exempt by what is on file: 2." in roster.said  # aaa-2011 sets no end either
    assert lead.standing("Amara").status is Status.DECLINED
    page = lead.show(ChildPresenter, child=lead.child("Amara"))
    assert page.view().status == "– declined by guardian" and "2026-01-20" in page.view().stands


def test_a_newer_list_says_first_what_it_would_change_and_is_asked_about_where_most_would_leave(
    lead, tmp_path
):
    heads = "Student ID,Last Name,First Name,DOB,Grade,Class\n"
    (tmp_path / "list.csv").write_text(f"{heads}S-99,Newcomb,Ida,2018-03-03,3,3A\n", "utf-8")
    known = len(lead.desk.standings())
    roster = lead.show(RosterPresenter)
    roster.read(tmp_path / "list.csv")
    said = f"1 added, 0 corrected, {known} left the school, 0 back, 0 unchanged."
    assert said in roster.roster_words()[0].replace("\u00a0", " ") and not roster.said
    roster.take()
    assert lead.asked[-1][0] == f"{known} children would be marked as having left"
    lead.choose("Back")
    assert len(lead.desk.standings()) == known and not roster.said
    roster.take()
    lead.choose("Yes, take it in")
    assert roster.said.replace("\u00a0", " ") == said  # a number and its word stay on one line


@pytest.mark.parametrize(
    ("language", "number", "said"),
    [
        ("en", 0, "0 added, 0 corrected, 0 left the school, 0 back, 0 unchanged."),
        ("en", 1, "1 added, 1 corrected, 1 left the school, 1 back, 1 unchanged."),
        ("es", 0, "0 añadidos, 0 corregidos, 0 bajas, 0 de vuelta, 0 sin cambios."),
        ("es", 1, "1 añadido, 1 corregido, 1 baja, 1 de vuelta, 1 sin cambios."),
        ("es", 212, "212 añadidos, 212 corregidos, 212 bajas, 212 de vuelta, 212 sin cambios."),
    ],
)
def test_what_a_newer_list_changes_is_right_for_none_one_and_many(lead, language, number, said):
    lead.session.t = Translator(language)
    roster = lead.show(RosterPresenter)
    roster._taken(RosterUpdate(*[number] * 5, ()))
    assert roster.said.replace("\u00a0", " ") == said  # a number and its word stay on one line


def test_one_child_and_one_tablet_are_said_as_one(lead, tmp_path):
    (tmp_path / "list.csv").write_text("Last Name,First Name,Grade\nNewcomb,Ida,3\n", "utf-8")
    for language, said in (("en", "1 child on 1 tablet: "), ("es", "1 niño con 1 tableta: ")):
        lead.session.t = Translator(language)
        prepare = lead.show(PreparePresenter)
        prepare.read(tmp_path / "list.csv")
        prepare.set_plan(tablets=1)
        assert prepare.plan_words().startswith(said)


def test_days_of_the_visit_lie_as_far_ahead_as_the_school_wants(lead):
    prepare = lead.show(PreparePresenter)
    first = [iso for iso, _words, _chosen in prepare.coming_days()]
    assert prepare.may_turn == (False, True)
    prepare.turn_weeks(-1)
    assert [iso for iso, _words, _chosen in prepare.coming_days()] == first  # never before today
    prepare.turn_weeks(1)
    prepare.turn_weeks(1)
    later = [iso for iso, _words, _chosen in prepare.coming_days()]
    assert min(later) > max(first) and "2026" in prepare.range_words()
    prepare.turn_day(later[0])
    assert prepare.days[-1].isoformat() == later[0]
    prepare.turn_weeks(-1)
    prepare.turn_weeks(-1)
    assert prepare.days[-1].isoformat() == later[0]  # still chosen, though out of sight


def test_children_outside_the_grades_due_are_told_of_and_may_be_left_out(lead, tmp_path):
    """WAC 246-760-020 names kindergarten and grades 1, 2, 3, 5 and 7; the preset carries where it was read."""
    from fieldapp.services.presets import preset

    outside = next(grade for grade in ("4", "6", "8") if grade not in preset("washington-246-760").grades_due)
    heads = "Student ID,Last Name,First Name,DOB,Grade,Class\n"
    lines = f"S-1,Velloso,Amara,2018-03-14,3,3B\nS-2,Wetherell,Tobias,2017-11-02,{outside},{outside}A\n"
    (tmp_path / "list.csv").write_text(heads + lines, "utf-8")
    prepare = lead.show(PreparePresenter)
    prepare.read(tmp_path / "list.csv")
    prepare.choose_protocol("washington-246-760")
    assert prepare.outside_words().startswith(
        "Children in grades that the protocol does not name: 1. They go"
    )
    assert prepare.plan_words() == "2 children on 4 tablets: about 2 min of screening."  # 1.5, rounded
    prepare.set_only_due(True)
    assert [person.given for person in prepare.people()] == ["Amara"]
    assert "left out" in prepare.outside_words() and prepare.plan_words().startswith("1 child on")
    prepare.set_plan(tablets=1)
    prepare.set_only_due(False)
    assert prepare.outside() == 1 and len(prepare.people()) == 2


def test_the_book_is_made_where_the_lead_says_and_opened_from_there(lead, tmp_path):
    (tmp_path / "list.csv").write_text("Last Name,First Name,DOB\nVelloso,Amara,2018-03-14\n", "utf-8")
    made = []
    lead.session.prepare_book = lambda path, *_a, **_k: made.append(path) or lead.desk
    prepare = lead.show(PreparePresenter)
    prepare.read(tmp_path / "list.csv")
    prepare.type_school("Tern Hollow")
    prepare.type_passphrase(PASSPHRASE)
    assert "already" in prepare.set_book(str(lead.visit.book))
    assert "no such folder" in prepare.set_book(str(tmp_path / "nowhere" / "a.book"))
    assert prepare.set_book(str(tmp_path / "tern.book")) == ""
    prepare.make()
    assert made == [str(tmp_path / "tern.book")] == [lead.session.store_path]


def test_a_book_or_a_store_that_lies_in_a_folder_is_opened_from_the_first_screen(lead):
    welcome = lead.show(WelcomePresenter)
    lead.session.store_path = "nowhere"
    for path in (lead.visit.book, lead.visit.store):
        welcome.folder = path.parent
        assert path.name in [found.name for found in welcome.files()]
        welcome.took(path)
        assert lead.went[-1] == ("unlock", {}) and lead.session.store_path == str(path)
    (lead.visit.folder / "no.book").write_text("no book")
    went = list(lead.went)
    welcome.took(lead.visit.folder / "no.book")
    assert lead.told and lead.went == went


def test_the_button_says_what_a_step_of_preparing_still_lacks_and_no_step_opens_before_its_time(
    lead, tmp_path
):
    (tmp_path / "list.csv").write_text(
        "Student ID,Last Name,First Name,DOB,Grade,Class\nS-1,Oak,Wren,2018-03-03,3,3A\n", "utf-8"
    )
    prepare = lead.show(PreparePresenter)
    assert prepare.button() == "First a list"
    assert [opens for *_more, opens in prepare.signs()] == [True, False, False, False, False]
    prepare.read(tmp_path / "list.csv")
    assert prepare.button() == "Next"
    prepare.open_step("school")
    prepare.type_school("")
    assert prepare.button() == "First the school"
    prepare.type_school("Tern Hollow Primary")
    for day in list(prepare.days):
        prepare.turn_day(day.isoformat())
    assert prepare.button() == "First a day"
    prepare.turn_day("2026-09-14")
    assert prepare.button() == "Next"
    prepare.step = "passphrase"
    assert prepare.button() == "First a passphrase"
    prepare.passphrase = "short"
    assert prepare.button() == "First a stronger passphrase"
    prepare.passphrase = PASSPHRASE
    assert prepare.button() == "Make the book"


def test_the_first_screen_says_what_taking_in_still_lacks_and_does_nothing_before(lead, tmp_path):
    welcome = lead.show(WelcomePresenter)
    assert (welcome.button(), welcome.may_receive) == ("Choose a handout", False)
    welcome.took(tmp_path / "C.handout")
    assert (welcome.button(), welcome.may_receive) == ("First its passphrase", False)
    welcome.receive()
    assert not welcome.busy
    welcome.type(PASSPHRASE)
    assert (welcome.button(), welcome.may_receive) == ("Take it in", True)
