"""An examiner's audiogram in the child's record: figures, scales with their sources, cautions; and nowhere else.

The degrees are read off the published tables by hand: right mean of 500, 1000, 2000 Hz (35 + 40 + 40) / 3 = 38.3, which
Clark 1981 calls mild (26 to 40, from memory); left (75 + 80 + 90) / 3 = 81.7, severe (71 to 90, second-hand). The left
ear did not respond at 4000 Hz, so WHO 2021, which takes both ears' four-frequency means, says nothing.
"""

from __future__ import annotations

import re
from dataclasses import replace

import pypdf
import pytest

import assets
from fieldapp.papers import PAPERS, make_papers
from shared.records.standing import Status

DEGREES = "slight|mild|moderate|severe|profound|ligero|leve|moderado|severo|profundo"


def text_of(path) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.fixture
def referred(school):
    return next(child for child in school if child.status is Status.REFERRED)


def record(child, visit, out) -> str:
    return text_of(make_papers(out, [child], visit, ["child-records"])["child-records"].path)


def test_the_record_says_what_the_examiner_found_and_what_the_numbers_come_to(referred, visit, out) -> None:
    text = record(referred, visit, out)
    for said in (
        "Examiner's audiogram",
        "Examined on November 9, 2026",
        "R. Oduya, audiologist, Pine Hollow hearing clinic",
        "Entered Nov 16, 2026 by LW",
        "Scale of Clark 1981 right ear: mild (38.3 dB HL); left ear: severe (81.7 dB HL)",
        "Scale of WHO 2021 no mean, so no degree",
        "right ear 500 Hz: 25 dB, 1000 Hz: 25 dB; left ear 2000 Hz: 50 dB",
        "right ear, bone: 500 Hz; left ear, air: 2000 Hz; left ear, bone: 2000 Hz: not masked",
        "It is not a diagnosis",
        "World report on hearing 2021",
        ">110 NR",
        ">70 NR M",
        "The school's own test Oct 20, 2026, air: right ear 500 Hz 25, 1000 Hz 30",
    ):
        assert said in text, said
    assert text.index("Threshold test") < text.index("Examiner's audiogram")


def test_the_record_says_it_in_spanish(referred, visit, out) -> None:
    text = record(referred, replace(visit, language="es"), out)
    for said in (
        "Audiograma del profesional",
        "Escala de la OMS 2021",
        "leve (38.3 dB HL)",
        "No es un diagnóstico",
    ):
        assert said in text, said


def test_no_other_paper_says_a_degree(school, visit, out) -> None:
    """Nor does a record whose child has no examiner's audiogram."""
    school = [replace(each, examinations=()) if n % 2 else each for n, each in enumerate(school)]
    others = make_papers(out, school, visit, [name for name in PAPERS if name != "child-records"])
    without = make_papers(
        out / "records", [replace(c, examinations=()) for c in school], visit, ["child-records"]
    )
    for paper in (*others.values(), *without.values()):
        found = re.findall(rf"\b({DEGREES})\b", text_of(paper.path).casefold())
        assert not found, (paper.path.name, found)


def test_every_examination_has_its_page_the_earlier_first(referred, visit, out) -> None:
    (first,) = referred.examinations
    later = replace(
        first, examination=replace(first.examination, examined=first.examination.examined.replace(day=30))
    )
    text = record(replace(referred, examinations=(first, later)), visit, out)
    assert text.index("Examined on November 9, 2026") < text.index("Examined on November 30, 2026")


def test_the_reply_slip_has_a_place_for_everything_that_can_be_typed_in(referred, visit, out) -> None:
    made = make_papers(out, [referred], visit, ["letters-referral"])["letters-referral"]
    text = text_of(made.path)
    assert made.pages == 1
    for said in (
        "Date of examination",
        "Name and licence of examiner",
        "250 500 750 1000 1500 2000 3000 4000 6000 8000",
    ):
        assert said in text, said
    for row in (
        "right, air",
        "left, air",
        "right, bone",
        "left, bone",
        "supra-aural phones",
        "insert phones",
    ):
        assert row in text
    assert "Add M where the other ear was masked, NR" in text


def test_a_schools_older_reply_slip_still_prints(referred, visit, out) -> None:
    """A wording edited before the grid came has no words for it: those of the app stand in."""
    shipped = assets.path("letters", "referral.en.toml").read_text(encoding="utf-8")
    older = re.sub(r"(?m)^(thresholds|air_|bone_|phones_).*\n", "", shipped).replace(
        "Next visit, if any", "Seen again"
    )
    (out / "referral.en.toml").write_text(older, encoding="utf-8")
    visit = replace(visit, letters_folder=out)
    text = text_of(
        make_papers(out / "made", [referred], visit, ["letters-referral"])["letters-referral"].path
    )
    assert "Seen again" in text
    assert "left, bone" in text
