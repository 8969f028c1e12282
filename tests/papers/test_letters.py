"""Letters home, the examiner's letter, the record, slips: who gets one, where things lie, what is never said."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pypdf
import pytest

from fieldapp.papers import make_papers
from fieldapp.services.presets import load_protocol
from shared.records.standing import Status

INCH = 72.0


def placed(path, number: int = 0) -> list[tuple[float, float, str]]:
    """(x, y from the top, text) of every piece of text of a page, in points."""
    page = pypdf.PdfReader(path).pages[number]
    high, found = float(page.mediabox[3]), []

    def visit_text(text, cm, tm, font, size) -> None:
        if text.strip():
            found.append((tm[4] * cm[0] + cm[4], high - (tm[5] * cm[3] + cm[5]), text.strip()))

    page.extract_text(visitor_text=visit_text)
    return found


def referred(school):
    return [child for child in school if child.status is Status.REFERRED][:1]


@pytest.mark.parametrize("lines", [1, 2, 3, 6])
def test_the_address_shows_in_the_window_and_nothing_else_does(school, visit, out, lines) -> None:
    child = next(child for child in school if child.status is Status.RESCREEN)
    address = tuple(f"Line {n} of an address" for n in range(lines))
    child = replace(child, person=replace(child.person, address=address))
    paper = make_papers(out, [child], visit, ["letters-rescreen"])["letters-rescreen"]
    # Letter folded in three (3 2/3 in) in a No. 10 envelope (4 1/8 x 9 1/2 in), window 1 1/8 x 4 1/2 in, 7/8 in from
    # the left and 1/2 in from the foot (from memory). What shows, whether the sheet lies low or high, left or right:
    surely = (2.5 * INCH, 3.167 * INCH, 0.875 * INCH, 4.375 * INCH)
    # What may show when it lies highest or lowest, furthest right or left:
    perhaps = (2.04 * INCH, 3.625 * INCH, -0.125 * INCH, 5.375 * INCH)
    for x, y, text in placed(paper.path):
        if any(word in text for word in ("of an address", child.person.guardian)) or text == "an address":
            assert surely[0] <= y - 6
            assert y <= surely[1]
            assert surely[2] <= x <= surely[3]
        else:
            assert not (perhaps[0] < y < perhaps[1] + 7 and x < perhaps[3]), text


def test_on_a4_the_address_lies_in_the_address_zone_of_the_standard(school, visit, out) -> None:
    child = next(child for child in school if child.status is Status.RESCREEN)
    child = replace(child, person=replace(child.person, address=("9 Alder Row", "Fen Bridge")))
    context = replace(visit, page_size="a4")
    paper = make_papers(out, [child], context, ["letters-rescreen"])["letters-rescreen"]
    millimetre = INCH / 25.4
    zone = (62.7 * millimetre, 90 * millimetre)  # DIN 5008 form B, from memory; text 25 mm from the left edge
    for x, y, text in placed(paper.path):
        if text in (child.person.guardian, *child.person.address):
            assert zone[0] < y < zone[1]
            assert x == pytest.approx(25 * millimetre, abs=0.5)


def test_each_child_gets_the_letter_of_its_status_and_nobody_another(school, visit, out) -> None:
    kinds = {
        "letters-rescreen": Status.RESCREEN,
        "letters-could-not-test": Status.COULD_NOT_TEST,
        "letters-referral": Status.REFERRED,
        "letters-passed": Status.PASSED,
        "examiner-letters": Status.REFERRED,
    }
    for name, paper in make_papers(out, school, visit, kinds).items():
        assert set(paper.children) == {child.child for child in school if child.status is kinds[name]}
        assert len(set(paper.numbers.values())) == len(paper.numbers)


def test_the_home_language_decides_the_letter(school, visit, out) -> None:
    paper = make_papers(out, school, visit, ["letters-could-not-test"])["letters-could-not-test"]
    people = {child.child: child.person for child in school}
    by_number = {number: people[child] for child, number in paper.numbers.items()}
    for page in pypdf.PdfReader(paper.path).pages:
        text = page.extract_text()
        (person,) = [person for number, person in by_number.items() if number in text]
        assert ("Estimados" in text) == (person.language == "es")
        assert person.given in text


def test_a_referral_letter_has_its_slip_on_the_same_sheet(school, visit, out) -> None:
    paper = make_papers(out, referred(school), visit, ["letters-referral"])["letters-referral"]
    assert paper.pages == 1
    child = referred(school)[0]
    text = pypdf.PdfReader(paper.path).pages[0].extract_text()
    assert text.count(child.person.given) >= 2
    assert "Examiner's reply" in text
    assert "Pine Hollow School Health Office, 12 Depot Road" in text


def drawn(path, number: int = 0) -> tuple[list[tuple[float, ...]], list[tuple[float, ...]]]:
    """The boxes (x, y, width, height) and the lines (x, y, x, y) of a page, in points."""
    text = pypdf.PdfReader(path).pages[number].get_contents().get_data().decode("latin-1")
    numbers = r"(-?[\d.]+) (-?[\d.]+) "
    boxes = re.findall(numbers * 2 + "re S", text)
    lines = re.findall(f"{numbers}m {numbers}l S", text)
    return [tuple(map(float, each)) for each in boxes], [tuple(map(float, each)) for each in lines]


@pytest.mark.parametrize("size", ["letter", "a4"])
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("protocol", ["aaa-2011", "who-2021"])  # with the longest sources at the foot
def test_the_slip_leaves_a_hand_eight_millimetres(school, visit, out, size, language, protocol) -> None:
    child = referred(school)[0]
    child = replace(child, person=replace(child.person, language=language))
    context = replace(visit, page_size=size, language=language, protocol=load_protocol(protocol))
    paper = make_papers(out, [child], context, ["letters-referral"])["letters-referral"]
    assert paper.pages == 1
    boxes, lines = drawn(paper.path)
    cells = [(x, y, wide, high) for x, y, wide, high in boxes if wide > 12]  # the rest are to be ticked
    assert len(cells) == 2 * (10 + 8)
    assert min(high for *_, high in cells) >= 8 / 25.4 * INCH - 0.02
    assert min(wide for _, _, wide, _ in cells) >= 6 / 25.4 * INCH
    foot = min(y for _, y, _, _ in cells)
    below = sorted({y for _, y, _, _ in lines if y < foot})[1:]  # without the rule above the page's foot
    assert len(below) == 3
    for lower, upper in pairwise([*below, foot]):
        assert upper - lower >= 8 / 25.4 * INCH - 0.02


def test_the_slip_speaks_the_letters_language_not_the_offices(school, visit, out) -> None:
    child = referred(school)[0]
    child = replace(child, person=replace(child.person, language="en", born="2015-12-12"))
    paper = make_papers(out, [child], replace(visit, language="es"), ["letters-referral"])["letters-referral"]
    text = pypdf.PdfReader(paper.path).pages[0].extract_text()
    assert "born Dec 12, 2015" in text and "dic" not in text


def test_a_very_long_name_moves_the_slip_and_loses_nothing(school, visit, out) -> None:
    child = referred(school)[0]
    child = replace(child, person=replace(child.person, given="Maximiliana Wilhelmina " * 6, language="en"))
    paper = make_papers(out, [child], visit, ["letters-referral"])["letters-referral"]
    pages = [page.extract_text() for page in pypdf.PdfReader(paper.path).pages]
    assert len(pages) == paper.pages == 2
    assert "Page 2 of 2" in pages[1]
    assert "Examiner's reply" in pages[1]


def test_a_long_name_sets_a_letter_closer_before_its_signature_leaves_the_page(school, visit, out) -> None:
    child = next(child for child in school if child.person.given.startswith("Maximiliana"))
    visit = replace(visit, protocol=load_protocol("aaa-2011"))
    for language in ("en", "es"):
        child = replace(child, person=replace(child.person, language=language))
        paper = make_papers(out / language, [child], visit, ["letters-rescreen"])["letters-rescreen"]
        assert paper.pages == 1


def test_the_examiner_gets_thresholds_as_found_and_no_word_of_diagnosis(school, visit, out) -> None:
    paper = make_papers(out, referred(school), visit, ["examiner-letters"])["examiner-letters"]
    text = " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(paper.path).pages)
    for row in ("500 25 10", "1000 30 10", "2000 35 15", "4000 45 >100 NR"):
        assert row in text
    assert "right: 30.0 dB HL" in text  # (25 + 30 + 35) / 3
    assert "left: none" in text  # a mean with no response is not taken
    for word in ("loss", "mild", "moderate", "severe", "conductive", "sensorineural", "normal"):
        assert word not in text.casefold()


def test_a_slip_tells_no_result(school, visit, out) -> None:
    paper = make_papers(out, school, visit, ["class-slips"])["class-slips"]
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(paper.path).pages).casefold()
    text = text.replace("a screening is not a diagnosis", "")
    for word in ("rescreen", "refer", "pass", "could not", "absent", "missed", "no response"):
        assert word not in text
    wanted = (Status.RESCREEN, Status.THRESHOLD, Status.NOT_SEEN, Status.ABSENT, Status.COULD_NOT_TEST)
    assert set(paper.children) == {child.child for child in school if child.status in wanted}


def test_progress_is_told_for_every_letter(school, visit, out) -> None:
    told: list[tuple[int, int]] = []
    watched = replace(visit, progress=lambda done, of: told.append((done, of)))
    make_papers(out, school, watched, ["letters-could-not-test"])
    assert told == [(n, 7) for n in range(1, 8)]


def test_every_child_has_a_record_with_its_name_on_every_page(school, visit, out) -> None:
    paper = make_papers(out, school, visit, ["child-records"])["child-records"]
    assert set(paper.children) == {child.child for child in school}
    people = {child.child: child.person for child in school}
    by_number = {number: people[child] for child, number in paper.numbers.items()}
    for page in pypdf.PdfReader(paper.path).pages:
        text = page.extract_text()
        (person,) = [person for number, person in by_number.items() if number in text]
        assert person.student_number in text
