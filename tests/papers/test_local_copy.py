"""A visit prepared with a local copy: every paper says so and never lends it the source's authority."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from fieldapp.papers import PAPERS, make_papers
from fieldapp.papers.sheet import marks_words
from fieldapp.papers.wording import words
from fieldapp.services.presets import preset, preset_names
from shared.hearing.protocol import MARKS
from shared.hearing.protocol_marks import FIELDS


def text_of(path: Path) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages]


@pytest.fixture
def ours(visit):
    """Washington's rule (WAC 246-760, no later than six weeks), with a level and a window of the lead's own."""
    levels = [{"by_hz": {"1000": 25, "2000": 25, "4000": 25}}]
    copied = preset("washington-246-760").copied(
        "ours", title="Tern Hollow", levels=levels, rescreen_days=[7, 21]
    )
    return replace(visit, protocol=copied)


def test_every_paper_names_the_copy_its_original_and_what_was_set_locally(few, ours, out) -> None:
    made = make_papers(out, few, ours, list(PAPERS))
    for name, paper in made.items():
        for page in text_of(paper.path):
            english = "a local copy of: Washington, WAC 246-760." in page
            assert english or "copia local de: Washington, WAC 246-760." in page, name
            assert "Protocol: Tern Hollow" in page or "Protocolo: Tern Hollow" in page
            assert "Washington Administrative Code 246-760-020" in page, "it still carries the source"
            assert "Compared with the rule in force" not in page
            if name.startswith("letters-"):
                assert ("Parts of it were set locally." if english else "Algunas partes se fijaron") in page
            else:
                assert "Set locally: levels, rescreen window." in page, name


def test_a_changed_window_is_not_laid_on_the_source(few, ours, visit, out) -> None:
    local = text_of(make_papers(out, few, ours, ["rescreen-list"])["rescreen-list"].path)
    assert "it is not the one of the protocol that this is a copy of" in " ".join(local)
    assert "the source of the protocol names none" not in " ".join(local)
    default = text_of(make_papers(out, few, visit, ["rescreen-list"])["rescreen-list"].path)
    assert "the source of the protocol names none" in " ".join(default)


def test_a_copy_by_hand_that_kept_the_title_does_not_cite_the_source_for_it(few, visit, out) -> None:
    copied = replace(visit, protocol=preset("aaa-2011").copied("ours", misses_to_fail=2))
    for name, paper in make_papers(out, few, copied, list(PAPERS)).items():
        for page in text_of(paper.path):
            assert "Protocol: AAA" not in page and "Protocolo: AAA" not in page
            assert "Local copy of AAA" in page or "Copia local de AAA" in page, name


def test_an_unchanged_copy_says_that_it_is_one_and_nothing_more(few, visit, out) -> None:
    copied = replace(visit, protocol=preset("aaa-2011").copied("ours", title="Tern Hollow"))
    page = text_of(make_papers(out, few, copied, ["yearly-summary"])["yearly-summary"].path)[0]
    assert "a local copy of: AAA Childhood" in page and "Set locally" not in page


@pytest.mark.parametrize("name", preset_names())
@pytest.mark.parametrize("language", ["en", "es"])
def test_a_list_ends_with_how_each_field_is_known(name: str, language: str) -> None:
    """Under each mark stand the fields that the preset's file marks so, save those of a test that never comes."""
    say, protocol = words(language), preset(name)
    told = {
        heading: set(fields.split(", "))
        for heading, fields in (
            each.split(": ") for each in marks_words(protocol, say).rstrip(".").split(". ")
        )
    }
    for mark in MARKS:
        heading = say(f"mark.{mark.replace(' ', '-')}", fields="").split(":")[0]
        marked = {say(f"field.{field}") for field, given in protocol.marks.items() if given == mark}
        unused = marked - told.get(heading, set())
        assert told.get(heading, set()) <= marked
        assert unused <= {say(f"field.{field}") for field in FIELDS if "threshold" in field}


def test_every_field_of_the_rule_has_a_name_in_both_languages() -> None:
    for language in ("en", "es"):
        say = words(language)
        assert len({say(f"field.{field}") for field in FIELDS}) == len(FIELDS)


def test_a_spanish_paper_says_the_source_in_spanish(visit, school, out):
    """The name of the published text stays; what stands around it does not."""
    spanish = replace(visit, protocol=preset("arizona-r9-13"), language="es")
    make_papers(out, school[:3], spanish, only=["rescreen-list"])
    said = text_of(out / "rescreen-list.pdf")[0]
    assert "R9-13-105 y R9-13-107 (el sitio de una facultad de derecho)" in said
    assert "law school" not in said
