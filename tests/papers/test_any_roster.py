"""Whatever a roster or a screener wrote, every paper is made, and nothing falls off a page."""

from __future__ import annotations

from dataclasses import replace

import pypdf
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fieldapp.exports import EXPORTS
from fieldapp.papers import PAPERS, make_papers
from shared.records.standing import Person, Status

ANY = st.text(max_size=40) | st.text(st.characters(codec="ascii"), max_size=60)
PEOPLE = st.builds(
    Person,
    given=ANY,
    family=ANY,
    born=st.sampled_from(["", "2018-02-29", "unknown", "2017-05-02"]),
    student_number=ANY,
    grade=st.sampled_from(["", "K", "03", "PK", "twelve"]) | ANY,
    class_name=ANY,
    language=st.sampled_from(["", "es", "Spanish", "zz-Zz"]) | ANY,
    guardian=ANY,
    address=st.lists(ANY, max_size=9).map(tuple),
    added=st.booleans(),
    left=st.booleans(),
)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(people=st.lists(PEOPLE, min_size=2, max_size=2), note=ANY, text=ANY)
def test_every_paper_and_export_takes_any_text(people, note, text, few, visit, out) -> None:
    chosen = {
        status: next(child for child in few if child.status is status) for status in (set(Status) & KNOWN)
    }
    children = [
        replace(
            child, person=person, note=note, why=text, observations=(note,), child=f"{child.child}{index}"
        )
        for index, person in enumerate(people)
        for child in chosen.values()
    ]
    for paper in make_papers(out, children, replace(visit, school=text), list(PAPERS)).values():
        assert len(pypdf.PdfReader(paper.path).pages) == paper.pages
    for export in EXPORTS.values():
        export(out, children, visit)


KNOWN = {
    Status.RESCREEN,
    Status.COULD_NOT_TEST,
    Status.REFERRED,
    Status.PASSED,
    Status.EAR_PROBLEM,
    Status.NOT_SEEN,
}


def test_a_very_long_note_runs_on_over_pages(few, visit, out) -> None:
    child = next(child for child in few if child.status is Status.COULD_NOT_TEST)
    words = [f"word{number}" for number in range(2500)]
    long = replace(child, note=" ".join(words), observations=(" ".join(words),))
    for name in ("could-not-test-list", "child-records"):
        paper = make_papers(out, [long], visit, [name])[name]
        text = " ".join(page.extract_text() for page in pypdf.PdfReader(paper.path).pages)
        assert paper.pages > 2
        assert set(words) <= set(text.split())


def test_results_that_disagree_are_marked_on_the_list(few, visit, out) -> None:
    child = next(child for child in few if child.status is Status.RESCREEN)
    paper = make_papers(out, [replace(child, disagreeing=("1@a", "1@b"))], visit, ["rescreen-list"])[
        "rescreen-list"
    ]
    assert "results disagree" in " ".join(pypdf.PdfReader(paper.path).pages[0].extract_text().split())
