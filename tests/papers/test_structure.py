"""The papers as tagged PDFs (ISO 32000-1, 14.6 to 14.8): every text marked, every mark in the tree, tables regular."""

from __future__ import annotations

import re
import shutil
import subprocess

import pypdf
import pytest

from fieldapp.papers import PAPERS, make_papers

# Standard structure types of ISO 32000-1, 14.8.4, as far as they are used.
STANDARD = {"Document", "Sect", "H1", "H2", "P", "Table", "TR", "TH", "TD", "Figure"}


@pytest.fixture
def made(few, visit, out):
    return make_papers(out, few, visit, list(PAPERS))


def walk(element):
    yield element
    kids = element.get("/K", [])
    for kid in kids if isinstance(kids, list) else [kids]:
        kid = kid.get_object() if hasattr(kid, "get_object") else kid
        if isinstance(kid, dict) and kid.get("/Type") == "/StructElem":
            assert kid["/P"].get_object() == element or element.get("/Type") == "/StructTreeRoot"
            yield from walk(kid)


def test_every_mark_on_a_page_is_in_the_tree_and_every_text_is_marked(made) -> None:
    for paper in made.values():
        reader = pypdf.PdfReader(paper.path)
        root = reader.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        numbers = root["/StructTreeRoot"]["/ParentTree"]["/Nums"]
        owners = dict(zip(numbers[::2], numbers[1::2], strict=True))
        for page in reader.pages:
            content = page.get_contents().get_data().decode("latin-1")
            marks = [int(mark) for mark in re.findall(r"<</MCID (\d+)>> BDC", content)]
            assert sorted(marks) == list(range(len(owners[page["/StructParents"]])))
            depth = 0
            for operator in re.findall(
                r"\b(BDC|BMC|EMC|Tj|TJ)\b", re.sub(r"\((?:\\.|[^\\)])*\)", "", content)
            ):
                depth += operator in ("BDC", "BMC")
                depth -= operator == "EMC"
                assert depth > 0 or operator == "EMC"
            assert depth == 0


def test_the_tree_uses_standard_types_and_its_tables_are_regular(made) -> None:
    for name, paper in made.items():
        root = pypdf.PdfReader(paper.path).trailer["/Root"]["/StructTreeRoot"]
        elements = [element for element in walk(root) if "/S" in element]
        assert {element["/S"][1:] for element in elements} <= STANDARD
        for table in (element for element in elements if element["/S"] == "/Table"):
            rows = [kid.get_object() for kid in table["/K"]]
            columns = {
                sum(cell.get_object().get("/A", {}).get("/ColSpan", 1) for cell in row["/K"]) for row in rows
            }
            assert len(columns) == 1, name


@pytest.mark.skipif(shutil.which("pdfinfo") is None, reason="poppler-utils is not installed")
def test_another_reader_finds_headings_cells_and_the_audiogram_in_words(made) -> None:
    def told(name: str) -> str:
        asked = ["pdfinfo", "-struct-text", str(made[name].path)]
        return subprocess.run(asked, check=True, capture_output=True, text=True).stdout

    listed = told("rescreen-list")
    assert re.search(r'H1 \(block\)\s+"Rescreen list"', listed)
    assert re.search(r'TD\s+"Joshi, Hugo"', listed)
    letters = told("letters-rescreen")
    assert "Dear parent or guardian" in letters
    reader = pypdf.PdfReader(made["examiner-letters"].path)
    figures = [e for e in walk(reader.trailer["/Root"]["/StructTreeRoot"]) if e.get("/S") == "/Figure"]
    assert figures
    assert "left air 4000 Hz >100 NR" in figures[0]["/Alt"]


def test_letters_name_the_language_they_are_in(made) -> None:
    root = pypdf.PdfReader(made["letters-passed"].path).trailer["/Root"]["/StructTreeRoot"]
    languages = [element["/Lang"] for element in walk(root) if element.get("/S") == "/Sect"]
    assert set(languages) == {"en", "es"}
    assert len(languages) == len(made["letters-passed"].numbers)
