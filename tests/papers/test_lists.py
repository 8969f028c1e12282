"""The office's lists: who is on them, what is printed, what the CSV holds."""

from __future__ import annotations

import csv
from dataclasses import replace

import pypdf

from fieldapp.papers import make_papers
from fieldapp.papers.lists import RESCREEN, write_list
from shared.records.standing import Status


def text_of(path) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


def test_the_rescreen_list_holds_every_child_to_be_rescreened_and_nobody_else(school, visit, out) -> None:
    make_papers(out, school, visit, ["rescreen-list"])
    text = text_of(out / "rescreen-list.pdf")
    for child in school:
        listed = child.person.student_number in text
        assert listed == (child.status is Status.RESCREEN)


def test_every_list_says_where_it_comes_from(school, visit, out) -> None:
    for made in make_papers(out, school, visit, ["rescreen-list", "not-yet-screened-list"]).values():
        reader = pypdf.PdfReader(made.path)
        assert len(reader.pages) == made.pages
        for number, page in enumerate(reader.pages, start=1):
            text = " ".join(page.extract_text().split())
            for said in (
                "Larch Hill Elementary",
                "Visit of September 14–15, 2026",
                "AAA Childhood Hearing Screening Guidelines",
                "NOT VERIFIED",
                "Issued November 25, 2026",
                made.number,
                f"Page {number} of {made.pages}",
                "A screening is not a diagnosis.",
                "Local rules and licensed practice come first.",
                "Confidential student record.",
            ):
                assert said in text


def test_the_list_as_csv_holds_the_same_children_and_no_formula(school, visit, out) -> None:
    path = write_list(out / "list.csv", RESCREEN, school, visit)
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    expected = {child.person.student_number for child in school if child.status is Status.RESCREEN}
    assert {row["student_number"] for row in rows} == expected
    make_papers(out, school, visit, ["not-yet-screened-list"])
    assert "'=HYPERLINK(1)" in (out / "not-yet-screened-list.csv").read_text(encoding="utf-8-sig")


def test_a_name_without_letters_is_listed_and_never_a_silent_box(school, visit, out) -> None:
    made = make_papers(out, school, visit, ["rescreen-list"])["rescreen-list"]
    assert [name.student_number for name in made.unprintable] == ["S-10527"]
    assert "U+20BB7" in text_of(made.path)


def test_the_medical_list_says_what_was_seen_and_at_which_ear(school, visit, out) -> None:
    told = [
        replace(child, signs=("drainage", "pain"), ears=("left",), note="since Monday")
        if child.status is Status.EAR_PROBLEM
        else child
        for child in school
    ]
    make_papers(out, told, visit, ["medical-list"])
    text = " ".join(text_of(out / "medical-list.pdf").split())
    assert "What was seen" in text
    assert "drainage from the ear, pain in the ear (left ear) since Monday" in text
