"""Names in other scripts: which way they are drawn, and that the bundled fonts have their letters."""

from __future__ import annotations

import pytest

from fieldapp.widgets.script_text import Drawn, drawn, font_file, picture, runs, turned

NAMES = {
    "Velloso, Amara": Drawn.PLAIN,
    "Đỗ, Ngọc Ánh": Drawn.PLAIN,
    "Петренко, Оксана": Drawn.PLAIN,
    "ხარაძე, ნინო": Drawn.PLAIN,
    "ስለሺ, ሰላም": Drawn.PLAIN,
    "สมบัติ, กานดา": Drawn.PLAIN,
    "النجار, أمل": Drawn.TURNED,
    "שלום, נועה": Drawn.TURNED,
    "शर्मा, प्रिया": Drawn.SHAPED,
    "ঠাকুর, অমিত": Drawn.SHAPED,
    "ស្រីមុំ": Drawn.SHAPED,
}


@pytest.mark.parametrize(("name", "way"), NAMES.items())
def test_which_way_a_name_is_drawn(name, way):
    assert drawn(name) is way


@pytest.mark.parametrize("name", NAMES)
def test_the_fonts_have_every_letter(name):
    fonttools = pytest.importorskip("fontTools.ttLib")
    text = turned(name) if drawn(name) is Drawn.TURNED else name
    for bold in (False, True):
        for script, piece in runs(text) if drawn(name) is Drawn.SHAPED else [("", text)]:
            letters = fonttools.TTFont(font_file(script, bold)).getBestCmap()
            assert [letter for letter in piece if ord(letter) not in letters] == [], (script, piece)


def test_arabic_letters_are_joined_and_turned():
    # Unicode's presentation forms: the medial meem U+FEE4 appears only where letters are joined.
    assert "\ufee4" in turned("محمد")
    assert turned("أمل")[-1] in "\ufe83\u0623"  # the first letter stands last, at the right


def test_a_shaped_name_is_drawn_in_one_picture():
    wide, high, alpha = picture("शर्मा, प्रिया", False, 24)
    assert len(alpha) == wide * high and any(alpha)
    assert picture("शर्मा, प्रिया", False, 48)[0] > wide
