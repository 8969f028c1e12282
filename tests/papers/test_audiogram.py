"""The audiogram on paper: square grid, symbols of the right shape at the right place, ears apart without colour."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from dataclasses import replace

import pypdf
import pytest
from PIL import Image

from fieldapp.papers import make_papers
from fieldapp.papers.audiogram import CHART, OCTAVE
from shared.records.standing import Status


@pytest.fixture
def page(school, visit, out):
    child = next(child for child in school if child.status is Status.REFERRED)
    return make_papers(out, [child], visit, ["examiner-letters"])["examiner-letters"].path


def lines_of(path) -> list[tuple[float, float, float, float]]:
    """Every straight line drawn on the audiogram's page: x1, y1, x2, y2 in points."""
    content = pypdf.PdfReader(path).pages[1].get_contents().get_data().decode("latin-1")
    number = r"(-?[\d.]+)"
    return [
        tuple(map(float, found))
        for found in re.findall(rf"n {number} {number} m {number} {number} l S", content)
    ]


def test_one_octave_is_as_long_as_twenty_decibels(page) -> None:
    # ASHA, Guidelines for Audiometric Symbols (1990), as read on a research data-element page: one octave = 20 dB.
    high, wide = CHART.height * OCTAVE, CHART.width * OCTAVE
    upright = sorted(
        {x1 for x1, y1, x2, y2 in lines_of(page) if x1 == x2 and abs(y1 - y2) == pytest.approx(high)}
    )
    level = sorted(
        {y1 for x1, y1, x2, y2 in lines_of(page) if y1 == y2 and abs(x1 - x2) == pytest.approx(wide)}
    )
    assert len(upright) == 11  # 125 to 8000 Hz: seven octaves and four between
    assert len(level) == 14  # -10 to 120 dB HL, every ten
    octave = upright[1] - upright[0]  # 125 and 250
    assert octave == pytest.approx(level[2] - level[0], abs=0.01)
    assert upright[-1] - upright[0] == pytest.approx(6 * octave, abs=0.01)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
def test_the_ears_are_told_apart_in_black_and_white(school, visit, out) -> None:
    """The same levels once in the right and once in the left ear give clearly different grey pictures."""
    child = next(child for child in school if child.status is Status.REFERRED)
    pictures = []
    for ear in ("right", "left"):
        (test,) = child.thresholds
        found = tuple(t for t in test.thresholds if t.ear == "right")
        one = replace(test, thresholds=tuple(replace(t, ear=ear) for t in found))
        paper = make_papers(out / ear, [replace(child, thresholds=(one,))], visit, ["examiner-letters"])
        asked = ["pdftoppm", "-r", "100", "-gray", "-f", "2", "-l", "2", str(paper["examiner-letters"].path)]
        image = Image.open(io.BytesIO(subprocess.run(asked, check=True, capture_output=True).stdout))
        dark = image.convert("L").point(lambda grey: 255 if grey < 84 else 0)
        pictures.append(dark.crop((120, 160, 410, 440)))
    ink = [sum(1 for pixel in picture.tobytes() if pixel) for picture in pictures]
    both = sum(1 for a, b in zip(*(picture.tobytes() for picture in pictures), strict=True) if a and b)
    assert min(ink) > 100
    assert both < 0.75 * max(ink)


def test_a_test_that_is_not_reliable_says_so_on_the_record(school, visit, out) -> None:
    """Retest within 5 dB: ASHA 2005, from memory."""
    tested = next(child for child in school if child.thresholds)
    (test, *others) = tested.thresholds
    told = replace(tested, thresholds=(replace(test, disagreed=(("right", 1000),)), *others))
    make_papers(out, [told], visit, ["child-records"])
    text = " ".join(
        " ".join(p.extract_text().split()) for p in pypdf.PdfReader(out / "child-records.pdf").pages
    )
    assert "NOT RELIABLE: the tries at right ear 1000 Hz did not agree within 5 dB." in text
