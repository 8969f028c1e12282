"""The book's children without a window: the list, the counts, a child's page; on a real visit book."""

from __future__ import annotations

from fieldapp.screens.child.presenter import ChildPresenter
from fieldapp.screens.children.presenter import ChildrenPresenter
from fieldapp.screens.closing.presenter import ClosingPresenter
from fieldapp.screens.counts.presenter import CountsPresenter
from shared.records.entries import Kind
from tests.facts import FAIL


def test_children_are_found_by_status_by_class_and_by_two_letters(lead):
    lead.day(("Tobias", FAIL), ("Amara", "++++++"))
    lead.desk.ledger.write((Kind.CHILD_LEFT, {"child": lead.child("Mei")}))
    children = lead.show(ChildrenPresenter)
    assert [row["name"] for row in children.view().rows] == [
        "Castellanos Ruiz, Inés",
        "Velloso, Amara",
        "Wetherell, Tobias",
        "Yilmazer, Deniz",
    ]
    tiles = {key: count for key, _words, count, _chosen in children.view().tiles}
    assert tiles == {"": "4", "not-seen": "2", "passed": "1", "rescreen": "1", "left": "1"}
    children.choose("rescreen")
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias"]
    children.choose("left")
    assert [row["name"] for row in children.view().rows] == ["Fairweather, Mei"]
    children.choose("")
    children.choose_class("4A")
    assert children.view().found == "Children: 1"
    children.type("ru")
    assert [row["name"] for row in children.view().rows] == ["Castellanos Ruiz, Inés"]
    children.type("fa")  # a leaver of another class is found as well
    assert [row["name"] for row in children.view().rows] == ["Fairweather, Mei"]
    assert children.live() == ["I"]
    children.open(lead.child("Tobias"))
    here = {"kind": "", "class_name": "4A", "typed": "fa", "back": "book"}
    assert lead.went[-1] == ("child", {"child": lead.child("Tobias"), "back": ("children", here)})


def test_a_row_of_the_counts_leads_to_its_children(lead):
    lead.day(("Tobias", FAIL), ("Amara", "++++++"))
    counts = lead.show(CountsPresenter)
    counts.open("missed_first")
    screen, arguments = lead.went[-1]
    assert screen == "children"
    children = lead.show(ChildrenPresenter, **arguments)
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias"]
    assert children.view().tiles[0][1:] == ("Missed the first", "1", True)


def test_the_list_of_the_closing_screen_is_of_all_whom_it_counts(lead):
    lead.day(("Tobias", FAIL))
    lead.desk.ledger.write((Kind.NOT_TESTED, {"child": lead.child("Amara"), "reason": "absent"}))
    closing = lead.show(ClosingPresenter)
    assert closing.view().without == "Without a result: 4"
    closing.show_owed()
    screen, arguments = lead.went[-1]
    children = lead.show(ChildrenPresenter, **arguments)
    assert screen == "children" and children.back == "closing"
    assert children.view().tiles[0][1:] == ("Not yet screened", "4", True)
    names = {row["name"] for row in children.view().rows}
    assert len(names) == 4 and "Velloso, Amara" in names


def test_a_childs_page_says_where_it_stands_and_what_was_done(lead):
    lead.day(("Tobias", FAIL))
    child = lead.child("Tobias")
    lead.desk.followup.note_step([child], "sent", note="L-1")
    page = lead.show(ChildPresenter, child=child)
    view = page.view()
    assert view.title == "Tobias Wetherell"
    assert view.status == "◇ rescreen"
    assert any("Due 28 Sep 2026 to 26 Oct 2026" in line for line in view.stands)
    (test,) = view.tests
    assert test.heads == ("1000", "2000", "4000")
    assert [(ear, cells) for ear, _word, cells in test.rows] == [
        ("right", ("heard\nheard", "heard\nheard", "NR\nNR")),
        ("left", ("heard\nheard", "heard\nheard", "heard\nheard")),
    ]
    assert "Tablet\u00a0C · MK · 20 dB HL" in test.about
    sections = dict(view.sections)
    assert sections["Follow-up"] == ("14 Sep 2026: Letter sent (L-1)",)
    assert view.has_steps and not view.doubts


def test_a_correction_is_shown_as_one_and_a_bad_value_stays_in_the_sheet(lead):
    child = lead.child("Tobias")
    page = lead.show(ChildPresenter, child=child)
    page.correct("family")
    (title, label, _button, _act), more = lead.typed[-1]
    assert (title, label, more["text"]) == ("Correct: Family name", "Family name", "Wetherell")
    assert more["check"]("") == "The name is missing. Type the name."
    assert more["check"]("Wetherall") == ""
    family = next(line for line in page.view().fields if line.field == "family")
    assert (family.value, family.before) == ("Wetherall", "before: Wetherell")
    (earlier,) = dict(page.view().sections)["Earlier values"]
    assert "Family name: Wetherell → Wetherall" in earlier
    page.took_born("1917-03-01")
    assert "no birth date" in lead.told[-1][0]
    page.took_born("2017-03-01")
    assert lead.standing("Tobias").person.born == "2017-03-01"
    page.go_back()
    assert lead.went[-1] == ("children", {})


def test_a_home_language_is_shown_and_corrected_by_its_name(lead):
    child = lead.child("Tobias")
    page = lead.show(ChildPresenter, child=child)

    def line():
        return next(each for each in page.view().fields if each.field == "language")

    assert page.keep("language", "kreyol") == ""
    assert line().value == "Haitian Creole"
    page.correct("language")
    assert lead.typed[-1][1]["text"] == "Haitian Creole"
    assert page.keep("language", "Spanish") == ""
    assert (line().value, line().before) == ("Spanish", "before: Haitian Creole")
    assert any(
        "Haitian Creole → Spanish" in said for _heading, lines in page.view().sections for said in lines
    )


def test_a_joined_child_is_found_under_its_other_name_which_is_then_said(lead):
    added = {"given": "Toby", "family": "Whetherall", "class": "3B"}
    (entry,) = lead.desk.ledger.write((Kind.CHILD_ADDED, added))
    lead.desk.ledger.write((Kind.SAME_CHILD, {"records": [lead.child("Tobias"), entry.id]}))
    children = lead.show(ChildrenPresenter)
    children.type("whe")
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias (Whetherall, Toby)"]
    assert children.view().found == "Children: 1" and children.live() == ["T"]
    lead.desk.ledger.write((Kind.CHILD_CORRECTED, {"child": entry.id, "fields": {"given": "Tobias"}}))
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias (Whetherall)"]
    children.type("wet")
    assert [row["name"] for row in children.view().rows] == ["Wetherell, Tobias"]
    children.type("zz")
    assert children.view().empty == "Nobody in this book has a name that begins with “ZZ”."
