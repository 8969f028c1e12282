"""No word of any paper lies over another: another reader's (poppler's) boxes of all words, every size and language."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import replace

import pytest

from fieldapp.papers import PAPERS, make_papers

WORD = re.compile(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>')


def boxes(path) -> list[list[tuple[float, float, float, float, str]]]:
    """The words of each page with their boxes, from the top."""
    told = subprocess.run(
        ["pdftotext", "-bbox", str(path), "-"], check=True, capture_output=True, text=True
    ).stdout
    pages = []
    for page in told.split("<page ")[1:]:
        words = []
        for found in WORD.finditer(page):
            x, y, end, foot = map(float, found.groups()[:4])
            quarter = (foot - y) / 4  # the boxes are as high as the font may be: letters lie in their middle
            words.append((x, y + quarter, end, foot - quarter, found[5]))
        pages.append(sorted(words, key=lambda word: word[1]))
    return pages


def overlaps(words) -> list[tuple[str, str]]:
    """Pairs of words that share more than a fifth of the smaller one."""
    found = []
    for index, (x, y, end, foot, word) in enumerate(words):
        for x2, y2, end2, foot2, other in words[index + 1 :]:
            if y2 >= foot:
                break
            shared = max(0.0, min(end, end2) - max(x, x2)) * max(0.0, min(foot, foot2) - max(y, y2))
            if shared > 0.2 * min((end - x) * (foot - y), (end2 - x2) * (foot2 - y2)):
                found.append((word, other))
    return found


def test_words_over_each_other_are_found() -> None:
    assert overlaps([(0, 0, 30, 10, "one"), (20, 1, 50, 11, "other"), (0, 12, 30, 22, "below")]) == [
        ("one", "other")
    ]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("size", ["letter", "a4"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_no_word_lies_over_another(few, visit, out, size, language) -> None:
    at_home = [replace(child, person=replace(child.person, language=language)) for child in few]
    context = replace(visit, page_size=size, language=language)
    for name, paper in make_papers(out, at_home, context, list(PAPERS)).items():
        for number, words in enumerate(boxes(paper.path), start=1):
            assert words
            assert not overlaps(words), (name, number)


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
def test_a_long_name_of_a_class_runs_over_nothing(few, visit, out) -> None:
    """As a district's own system may call one: it takes a second line, on lists and on slips."""
    long = "Kindergarten afternoon group of the second building, Room 1124 East"
    children = [replace(child, person=replace(child.person, class_name=long)) for child in few]
    for name, paper in make_papers(out, children, visit, ["absentee-list", "class-slips"]).items():
        wide = float(visit.page[0])
        for words in boxes(paper.path):
            assert not overlaps(words), name
            assert max(end for _, _, end, _, _ in words) < wide - 40
