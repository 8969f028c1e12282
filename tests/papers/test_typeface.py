"""Type: every letter printed or reported, lines never too wide, scripts in their order."""

from __future__ import annotations

import unicodedata
from dataclasses import replace

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.papers import make_papers, typeface
from shared.records.standing import Status

LATIN = st.text(
    st.characters(min_codepoint=0x20, max_codepoint=0x24F, exclude_categories=["Cc"]), max_size=80
)


@given(LATIN, st.floats(40, 400), st.sampled_from([7.0, 9.0, 12.5]), st.booleans())
def test_no_line_is_wider_than_its_room_and_no_letter_is_lost(
    text: str, room: float, size: float, bold: bool
) -> None:
    lines = typeface.wrap(text, room, size, bold)
    widest = max(size * 1.2, room)  # one letter may be wider than no room at all
    assert all(typeface.width(line, size, bold) <= widest + 0.05 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_words_part_after_a_hyphen_before_they_are_cut() -> None:
    lines = typeface.wrap("Wilhelmina-Charlotte", 60, 9, True)
    assert lines[0] == "Wilhelmina-"
    assert "".join(lines) == "Wilhelmina-Charlotte"


# Expected visual order by hand from the rules of UAX #9: runs left to right, words within right-to-left runs reversed.
@pytest.mark.parametrize(
    ("text", "in_order"),
    [
        ("Levy, Noa", ["Levy, Noa"]),
        ("לוי נועה", ["נועה", " ", "לוי"]),
        ("Class 3B נועה לוי", ["Class 3B ", "לוי", " ", "נועה"]),
        ("שרה 12 לוי", ["לוי", " ", "12", " ", "שרה"]),
    ],
)
def test_right_to_left_words_stand_in_their_order(text: str, in_order: list[str]) -> None:
    assert [run.text for run in typeface.runs(text)] == in_order


NAMES = (
    *(
        "María Muñoz",
        "Đặng Thị Ngọc",
        "Łucja Żak",
        "Ðóra Þór",
        "Ωμέγα",
        "Соня Чехова",
        "მარიამ",
        "Անի",
        "አበበ",
        "ᏣᎳᎩ",
    ),
    *(
        "محمد الأحمد",
        "نوعا",
        "לוי",
        "प्रिया",
        "মীনা",
        "ਸਿੰਘ",
        "પટેલ",
        "தமிழ்",
        "తెలుగు",
        "សុខា",
        "မြန်မာ",
        "ณัฐพงศ์",
        "ສົມ",
    ),
    *("王小雨", "歐陽靜怡", "䶮", "佐藤 さくら", "ｻﾄｳ ﾊﾅｺ", "髙橋 美咲", "김민준", "ㄌㄧˇ", "남궁 서연"),
)


@pytest.mark.parametrize("name", NAMES)
def test_names_in_the_bundled_scripts_can_be_printed(name: str) -> None:
    assert typeface.unprintable(name) == ""
    assert typeface.MISSING not in "".join(run.text for run in typeface.runs(name))
    assert typeface.width(name, 10) > 5


@pytest.mark.parametrize(("name", "missing"), [("𠮷野 Ai", "𠮷"), ("Ana 🙂", "🙂"), ("ꓡꓲ", "ꓡꓲ")])
def test_letters_without_a_font_are_reported_and_shown(name: str, missing: str) -> None:
    assert set(typeface.unprintable(name)) == set(unicodedata.normalize("NFC", missing))
    assert typeface.MISSING in "".join(run.text for run in typeface.runs(name))


def test_a_decomposed_name_is_printed_as_the_composed_one() -> None:
    assert typeface.unprintable(unicodedata.normalize("NFD", "Đặng Ibáñez")) == ""
    assert typeface.width(unicodedata.normalize("NFD", "Ibáñez"), 10) == pytest.approx(
        typeface.width("Ibáñez", 10), rel=0.01
    )


def test_a_code_point_that_is_no_letter_does_no_harm() -> None:
    # U+0590 and U+05FF: unassigned, in the Hebrew block (UnicodeData.txt)
    assert typeface.unprintable("\u0590") == "\u0590"
    assert "".join(run.text for run in typeface.runs("לוי \u05ff a")).count(typeface.MISSING) == 1


def test_direction_marks_and_control_letters_do_no_harm() -> None:
    assert typeface.unprintable("\u202eevil\u202c \u200fname\x07") == ""
    assert typeface.wrap("a\u202eb", 100, 10) == ["a\u202eb"]
    assert [run.text for run in typeface.runs("a\u202eb\x07")] == ["ab"]


def test_chinese_japanese_and_korean_names_are_found_in_the_text_of_the_page(school, visit, out) -> None:
    names = ["王小雨", "佐藤さくら", unicodedata.normalize("NFD", "김민준"), "Li 小雨"]
    child = next(child for child in school if child.status is Status.RESCREEN)
    children = [
        replace(child, child=f"{n}@x", person=replace(child.person, given=given, family=""))
        for n, given in enumerate(names)
    ]
    for paper in ("rescreen-list", "letters-rescreen"):
        made = make_papers(out, children, visit, [paper])[paper]
        reader = pypdf.PdfReader(made.path)
        # pypdf breaks the line at every change of font
        text = "".join("".join(page.extract_text() for page in reader.pages).split())
        assert all(unicodedata.normalize("NFC", name).replace(" ", "") in text for name in names)
        assert typeface.MISSING not in text and not made.unprintable
        # embedded as a subset: ISO 32000-1, 9.6.4: a tag of six letters and a plus sign before the name
        fonts = {str(f.get_object()["/BaseFont"]) for f in reader.pages[0]["/Resources"]["/Font"].values()}
        assert any(name.endswith("+QuietbellHan-Regular") and len(name.split("+")[0]) == 7 for name in fonts)
        assert made.path.stat().st_size < 200_000


def test_a_line_of_chinese_letters_breaks_where_it_must() -> None:
    lines = typeface.wrap("北京市海淀区中关村大街二十七号院三号楼", 60, 10)
    assert "".join(lines) == "北京市海淀区中关村大街二十七号院三号楼"
    assert all(typeface.width(line, 10) <= 60 for line in lines)


def test_arabic_and_hebrew_names_are_found_in_the_text_of_the_page(school, visit, out) -> None:
    child = next(child for child in school if child.status is Status.RESCREEN)
    children = [
        replace(child, child=f"{n}@x", person=replace(child.person, given=given, family=""))
        for n, given in enumerate(["محمد", "נועה", "ณัฐพงศ์"])
    ]
    made = make_papers(out, children, visit, ["rescreen-list"])["rescreen-list"]
    text = unicodedata.normalize("NFKC", pypdf.PdfReader(made.path).pages[0].extract_text())
    for name in ("محمد", "נועה"):
        assert name in text or name[::-1] in text  # pypdf leaves glyphs in visual order
