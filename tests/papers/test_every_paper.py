"""What holds for every paper: frame, accessibility, fonts, bookmarks, page sizes, languages, and its golden copy.

Golden copies are in ``tests/golden/papers``: the text of every page, and some pages as small grey pictures. To renew
them after a wanted change, look at the papers first, then run this file with QUIETBELL_RENEW_GOLDEN=1.
"""

from __future__ import annotations

import io
import os
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest
from PIL import Image, ImageChops, ImageStat

from fieldapp.papers import PAPERS, chosen_papers, make_papers
from shared.errors import WrongUse

GOLDEN = Path(__file__).parents[1] / "golden" / "papers"
RENEW = bool(os.environ.get("QUIETBELL_RENEW_GOLDEN"))
PICTURED = (
    "rescreen-list",
    "class-slips",
    "letters-referral",
    "examiner-letters",
    "yearly-summary",
    "readiness-log",
)
NAMES = list(PAPERS)


def texts(path: Path) -> list[str]:
    """What a reader finds on each page, without the private codes of shaped letters: ReportLab gives them out in the
    order in which a process draws them, and pypdf reads them although the page says the true text beside them."""
    return [re.sub("[\ue000-\uf8ff]", "", page.extract_text()) for page in pypdf.PdfReader(path).pages]


@pytest.fixture
def made(few, visit, out):
    return make_papers(out, few, visit, NAMES)


def test_every_page_says_what_every_page_must(made) -> None:
    assert set(made) == set(PAPERS)
    for name, paper in made.items():
        pages = texts(paper.path)
        assert len(pages) == paper.pages
        for text in pages:
            text = " ".join(text.split())
            english = "A screening is not a diagnosis." in text
            if english:
                home = name.startswith("letters-")
                assert ("Not yet compared with the local rule." if home else "NOT VERIFIED") in text
                assert not home or "NOT VERIFIED" not in text
                assert "Local rules and licensed practice come first. Confidential student record." in text
                assert "Issued November 25, 2026" in text
                assert "Visit of September 14–15, 2026" in text
            else:
                assert name.startswith("letters-")
                assert "Esta prueba no es un diagnóstico." in text
                assert "SIN VERIFICAR" not in text
                assert "Aún no se ha comparado con la norma local." in text
                assert "Documento escolar confidencial" in text
                assert "Emitido el 25 de noviembre de 2026" in text
            assert "AAA Childhood Hearing Screening Guidelines, 2011. " in text
            assert "American Academy of Audiology" in text
            assert "Larch Hill Elementary" in text
            assert paper.number in text


def test_pages_are_counted_within_their_letter_or_list(made) -> None:
    for paper in made.values():
        pages = [" ".join(text.split()) for text in texts(paper.path)]
        for number in set(paper.numbers.values()) or {paper.number}:
            of_number = [text for text in pages if number in text]
            for index, text in enumerate(of_number, start=1):
                assert f"{index} of {len(of_number)}" in text or f"{index} de {len(of_number)}" in text


def test_the_pdfs_are_accessible_and_searchable(made) -> None:
    for name, paper in made.items():
        reader = pypdf.PdfReader(paper.path)
        assert reader.metadata is not None
        assert reader.metadata.title
        assert reader.trailer["/Root"]["/Lang"] == "en"
        assert reader.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"] == True  # noqa: E712
        by_class = name.endswith(("-list", "letters", "records", "slips")) or name.startswith("letters-")
        assert not by_class or not paper.numbers or reader.outline
        for page in reader.pages:
            for font in page["/Resources"]["/Font"].values():
                font = font.get_object()
                if "/FontDescriptor" in font:
                    assert "/FontFile2" in font["/FontDescriptor"], font["/BaseFont"]
                    assert "/ToUnicode" in font


def test_no_font_is_used_that_is_not_embedded(made) -> None:
    for paper in made.values():
        for page in pypdf.PdfReader(paper.path).pages:
            names = {font.get_object()["/BaseFont"] for font in page["/Resources"]["/Font"].values()}
            used = page.get_contents().get_data()
            assert names
            for key, font in page["/Resources"]["/Font"].items():
                if "/FontDescriptor" not in font.get_object():  # ReportLab lists Helvetica on every page
                    assert f"{key} ".encode() not in used, paper.path


@pytest.mark.parametrize("size", ["letter", "a4"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_every_paper_fits_both_page_sizes_and_languages(few, visit, out, size, language) -> None:
    wide, high = {"letter": (612, 792), "a4": (595.28, 841.89)}[size]  # points: 8.5 x 11 in; ISO 216
    for paper in make_papers(out, few, replace(visit, page_size=size, language=language), NAMES).values():
        reader = pypdf.PdfReader(paper.path)
        assert reader.trailer["/Root"]["/Lang"] == language
        for page in reader.pages:
            assert [float(side) for side in page.mediabox[2:]] == pytest.approx([wide, high], abs=0.01)
            beyond: list[str] = []

            def visit_text(text, cm, tm, font, points, beyond=beyond) -> None:
                x, y = tm[4] * cm[0] + cm[4], tm[5] * cm[3] + cm[5]
                if text.strip() and not (0 <= x <= wide and 18 <= y <= high - 18):
                    beyond.append(text)

            page.extract_text(visitor_text=visit_text)
            assert not beyond


def test_nobody_at_all_still_makes_papers(visit, out) -> None:
    for name, paper in make_papers(out, [], replace(visit, readiness=(), watches=()), NAMES).items():
        assert paper.pages == 1, name


def test_an_unknown_paper_is_wrong_use_and_makes_nothing(few, visit, out) -> None:
    with pytest.raises(WrongUse, match="rescreen-list"):
        make_papers(out, few, visit, ["rescreen-list", "no-such-paper"])
    assert not list(out.iterdir())
    assert "letters-passed" not in chosen_papers()


def test_the_same_children_give_the_same_bytes(few, visit, out) -> None:
    one = make_papers(out / "1", few, visit, ["rescreen-list"])["rescreen-list"].path.read_bytes()
    two = make_papers(out / "2", few, visit, ["rescreen-list"])["rescreen-list"].path.read_bytes()
    assert one == two


@pytest.mark.parametrize("name", NAMES)
def test_the_text_is_the_golden_text(name, few, visit, out) -> None:
    paper = make_papers(out, few, visit, [name])[name]
    text = "\n\f\n".join(texts(paper.path)) + "\n"
    golden = GOLDEN / f"{name}.txt"
    if RENEW:
        GOLDEN.mkdir(parents=True, exist_ok=True)
        golden.write_text(text, encoding="utf-8")
    assert text == golden.read_text(encoding="utf-8")


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
@pytest.mark.parametrize("name", PICTURED)
def test_the_page_looks_like_the_golden_page(name, few, visit, out) -> None:
    paper = make_papers(out, few, visit, [name])[name]
    last = "2" if name == "examiner-letters" else "1"  # the page with the audiogram
    asked = ["pdftoppm", "-r", "50", "-gray", "-png", "-f", last, "-l", last, str(paper.path)]
    page = Image.open(io.BytesIO(subprocess.run(asked, check=True, capture_output=True).stdout)).convert("L")
    golden = GOLDEN / f"{name}.png"
    if RENEW:
        page.save(golden, optimize=True)
    kept = Image.open(golden).convert("L")
    assert page.size == kept.size
    # Other renderers' edges differ by little and everywhere; a moved or missing part differs by much in one place.
    difference = ImageChops.difference(page, kept)
    assert ImageStat.Stat(difference).mean[0] < 4
    coarse = difference.resize((page.width // 12, page.height // 12), Image.Resampling.BOX)
    assert coarse.getextrema()[1] < 60
