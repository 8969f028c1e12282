"""The wording: both languages complete, a school's edits taken, anything unknown refused by file and field."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from datetime import date
from string import Formatter

import pypdf
import pytest

import assets
from fieldapp.papers import PAPERS, make_papers
from fieldapp.papers.letter_wording import WordingRefused, load_wording
from fieldapp.papers.wording import language_of, words
from shared.errors import Refused

LETTERS = ("passed", "rescreen", "could-not-test", "referral")


def flat(table: dict, within: str = "") -> dict[str, str]:
    found: dict[str, str] = {}
    for name, value in table.items():
        found |= flat(value, f"{within}{name}.") if isinstance(value, dict) else {within + name: value}
    return found


def fields(text: str) -> list[str]:
    return sorted(field for _, field, _, _ in Formatter().parse(text) if field)


def test_both_languages_have_the_same_phrases_with_the_same_fields() -> None:
    english, spanish = (
        flat(tomllib.loads(assets.path("letters", f"papers.{tag}.toml").read_text(encoding="utf-8")))
        for tag in ("en", "es")
    )
    assert english.keys() == spanish.keys()
    for key, phrase in english.items():
        assert fields(phrase) == fields(spanish[key])
        if len(phrase) > 25 and key not in ("months",):
            assert phrase != spanish[key]


@pytest.mark.parametrize("name", LETTERS)
def test_both_languages_of_a_letter_say_the_same_fields(name: str) -> None:
    english, spanish = load_wording(name, "en"), load_wording(name, "es-MX")
    assert (english.language, spanish.language) == ("en", "es")
    assert len(english.body) == len(spanish.body)
    for one, other in zip(english.body, spanish.body, strict=True):
        assert one.fields == other.fields or one.fields ^ other.fields <= {"given", "child"}


# No cause, kind or treatment is ever printed, and no degree but a published scale's word for an examiner's average.
DIAGNOSING = """
hearing loss|deaf|conductive|sensorineural|infection|fluid|wax|mild|moderate|severe|hearing aid|
pérdida auditiva|sordera|sordo|conductiva|infección|cera|leve|moderada|grave|audífono
"""


@pytest.mark.parametrize("word", DIAGNOSING.replace("\n", "").split("|"))
def test_no_wording_diagnoses(word: str) -> None:
    for file in assets.path("letters").glob("*.toml"):
        phrases = flat(tomllib.loads(file.read_text(encoding="utf-8")))
        text = "\n".join(
            str(text) for key, text in phrases.items() if not key.startswith("degree.")
        ).casefold()
        assert not re.search(rf"\b{word}\b", text), file.name


def own(folder, name: str, change) -> None:
    text = assets.path("letters", f"{name}.en.toml").read_text(encoding="utf-8")
    (folder / f"{name}.en.toml").write_text(change(text), encoding="utf-8")


def test_a_school_may_say_it_in_its_own_words(school, visit, out) -> None:
    own(out, "rescreen", lambda text: text.replace("With kind regards,", "Yours, the Larch Hill office"))
    made = make_papers(out, school, replace(visit, letters_folder=out), ["letters-rescreen"])
    texts = [page.extract_text() for page in pypdf.PdfReader(made["letters-rescreen"].path).pages]
    assert any("Yours, the Larch Hill office" in text for text in texts)
    assert any("Atentamente" in text for text in texts)


@pytest.mark.parametrize(
    ("change", "named"),
    [
        (lambda text: text.replace("{window}", "{windw}"), "{windw}"),
        (lambda text: text.replace("{window}", "{window.real}"), "{window.real}"),
        (lambda text: text.replace("{window}", "{window!r}"), "{window!r}"),
        (lambda text: text.replace("{window}", "{window:>99999999}"), "{window:>99999999}"),
        (lambda text: text.replace("{window}", "{}"), "{}"),
        (lambda text: text.replace("{window}", "{window"), "body"),
        (lambda text: text.replace("closing", "closng"), "closng"),
        (lambda text: text.replace("closing =", "# closing ="), "closing"),
        (lambda text: text + "\n[reply]\ntitle = 'x'\n", "reply"),
        (lambda text: text.replace("body = [", "body = "), "the file"),
        (lambda text: "body = 3\n" + text.partition("body")[0], "closing"),
    ],
)
def test_a_wording_with_a_fault_is_refused_naming_file_and_field(change, named, school, visit, out) -> None:
    own(out, "rescreen", change)
    with pytest.raises(WordingRefused) as refused:
        make_papers(out / "papers", school, replace(visit, letters_folder=out), ["letters-rescreen"])
    assert "rescreen.en.toml" in str(refused.value)
    assert named in str(refused.value)
    assert not (out / "papers" / "letters-rescreen.pdf").exists()


def test_a_picture_is_no_wording(school, visit, out) -> None:
    (out / "rescreen.en.toml").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(range(256)))
    with pytest.raises(WordingRefused, match=r"rescreen\.en\.toml"):
        load_wording("rescreen", "en", out)


def test_a_paragraph_whose_field_is_not_known_is_left_out(school, visit, out) -> None:
    silent = replace(visit, office=replace(visit.office, phone=""))
    made = make_papers(out, school, silent, ["letters-rescreen"])
    text = " ".join(page.extract_text() for page in pypdf.PdfReader(made["letters-rescreen"].path).pages)
    assert "Questions?" not in text
    assert "{" not in text


@pytest.mark.parametrize(
    ("tag", "spoken"),
    [
        ("es", "es"),
        ("es-MX", "es"),
        ("Spanish", "es"),
        ("ESPAÑOL", "es"),
        ("en-US", "en"),
        ("so", "en"),
        ("", "en"),
    ],
)
def test_the_home_language_decides(tag: str, spoken: str) -> None:
    assert language_of(tag) == spoken


def test_dates_are_written_as_each_language_writes_them() -> None:
    assert words("en").long_date("2026-11-05") == "November 5, 2026"
    assert words("es").long_date(date(2026, 11, 5)) == "5 de noviembre de 2026"
    assert words("en").days([date(2026, 9, 14), date(2026, 9, 15)]) == "September 14–15, 2026"
    assert words("en").days([date(2026, 9, 30), date(2026, 10, 1)]) == "September 30, 2026 – October 1, 2026"
    assert words("es").days([date(2026, 9, 4), date(2026, 9, 14)]) == "4–14 de septiembre de 2026"
    assert words("en").long_date("") == ""


def test_an_unknown_page_size_is_refused(school, visit, out) -> None:
    with pytest.raises(Refused, match="page size"):
        make_papers(out, school, replace(visit, page_size="legal"), list(PAPERS)[:1])


def test_a_home_language_is_named_where_the_papers_speak_it_and_kept_elsewhere() -> None:
    assert words("en").language_name("es-MX") == "Spanish" and words("es").language_name("en") == "inglés"
    assert words("es").language_name("ht") == "criollo haitiano"
    assert words("en").language_name("x-ours") == "x-ours" and words("en").language_name("") == ""
