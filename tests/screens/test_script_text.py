"""Names in other scripts: which way they are drawn, and that the bundled fonts have their letters."""

from __future__ import annotations

import unicodedata

import pytest

from fieldapp.widgets.script_text import (
    Drawn,
    beside,
    broken,
    cut,
    drawn,
    fits,
    font_file,
    lines,
    listed,
    picture,
    runs,
    together,
    turned,
    wrapped,
)

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
    "王, 小雨": Drawn.SHAPED,
    "佐藤, さくら": Drawn.SHAPED,
    "김, 민준": Drawn.SHAPED,
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


def test_a_korean_name_written_in_parts_is_put_together():
    """As some file systems and spreadsheets hold it (Unicode normalization form D)."""
    assert runs(unicodedata.normalize("NFD", "김민준")) == runs("김민준") == [("Han", "김민준")]
    assert drawn(unicodedata.normalize("NFD", "김민준")) is Drawn.SHAPED


def test_signs_between_east_asian_letters_keep_their_own_font():
    assert runs("王, 小雨") == [("Han", "王"), ("", ", "), ("Han", "小雨")]


def test_several_lines_stay_several_lines_and_none_is_wider_than_its_room():
    names = "王, 小雨\nशर्मा, प्रिया\nVelloso, Amara"
    assert lines(names, False, 24, 0) == names.split("\n")
    broken = lines("陳大文 is on no other list of this school 王小雨", False, 24, 150)
    assert len(broken) > 2 and all(picture(line, False, 24)[0] <= 152 for line in broken)
    assert "".join(broken).replace(" ", "") == "陳大文 is on no other list of this school 王小雨".replace(
        " ", ""
    )
    assert picture(names, False, 24)[1] == 3 * picture(names.replace("\n", " "), False, 24)[1]


def test_a_word_wider_than_its_room_is_broken_after_its_hyphen_or_anywhere_and_loses_nothing():
    broken = lines("王; Hoogenbroeck-Montgomery; Wolfeschlegelsteinhausen", False, 24, 190)
    assert all(picture(line, False, 24)[0] <= 192 for line in broken)
    assert "Hoogenbroeck-" in broken
    assert "".join(broken).replace(" ", "") == "王;Hoogenbroeck-Montgomery;Wolfeschlegelsteinhausen"


def test_a_name_too_long_for_its_line_ends_with_an_ellipsis():
    assert cut("王, 小雨", False, 24, 500) == "王, 小雨"
    short = cut("歐陽, 靜怡 佐藤 さくら", False, 24, 100)
    assert short.endswith("…") and picture(short, False, 24)[0] <= 102


def test_the_bold_of_a_font_with_one_weight_is_darker():
    assert sum(picture("王小雨", True, 24)[2]) > 1.1 * sum(picture("王小雨", False, 24)[2])


def test_a_code_point_that_is_no_letter_does_no_harm():
    assert turned("\u0590") and turned("שלום \u05ff")


def test_no_line_ends_between_a_number_and_its_unit():
    assert (
        together("left 4000 Hz: 25 dB HL at 8:12 am")
        == "left\u00a04000\u00a0Hz:\u00a025\u00a0dB\u00a0HL at 8:12\u00a0am"
    )
    assert together("due 8 sep 2026, 3B") == "due 8\u00a0sep\u00a02026, 3B"
    assert together("3 amber dBs") == "3 amber dBs"
    assert together("(250 + 500 Hz)") == "(250\u00a0+\u00a0500\u00a0Hz)"
    assert together("rescreen · left 4000 Hz") == "rescreen\u00a0· left\u00a04000\u00a0Hz"
    assert together("reevaluar · izq. 4000, 2000 Hz") == "reevaluar\u00a0· izq.\u00a04000, 2000\u00a0Hz"


def test_no_line_ends_before_a_count_or_begins_with_a_dot():
    assert together("absent: 1 · for a reason: 2") == "absent:\u00a01\u00a0· for a reason:\u00a02"
    assert together("Rows not taken: 3. See 4 of 5: no") == "Rows not taken:\u00a03. See 4 of 5: no"
    assert together("To decide: 2 …") == "To decide:\u00a02\u00a0…"


def test_frequencies_that_share_a_level_are_parted_from_it_and_not_from_each_other():
    assert together("500, 1000 Hz: 38.3 dB HL") == "500, 1000\u00a0Hz: 38.3\u00a0dB\u00a0HL"
    assert together("500 Hz: 30, 1000 Hz: 25") == "500\u00a0Hz:\u00a030, 1000\u00a0Hz:\u00a025"


LONG = "van der Hoogenbroeck-Montgomery-Ashcombe, Oluwaseun-Adebayo Maximilian"


@pytest.mark.parametrize(("size", "room", "most"), [(18, 420, 1), (18, 300, 3), (23, 284, 3), (24, 900, 2)])
def test_a_long_name_in_a_list_loses_of_its_family_name_and_keeps_the_given_name(size, room, most):
    said = listed(LONG, True, size, room, most).split("\n")
    assert len(said) <= most and all(fits(line, True, size, room) for line in said)
    assert " ".join(said).startswith("van ") and " ".join(said).endswith(", Oluwaseun-Adebayo Maximilian")


def test_where_not_even_the_given_name_fits_both_begin():
    said = listed(LONG, True, 23, 260)
    assert said.startswith("van…, Oluwaseun") and said.endswith("…") and fits(said, True, 23, 260)


def test_a_name_that_fits_or_has_one_part_is_only_cut_where_it_must_be():
    assert listed("Okoro, Chidi", True, 24, 300) == "Okoro, Chidi"
    assert listed("S-10432-of-another-school", True, 24, 150).startswith("S-10")
    assert listed(LONG, True, 24, 0) == LONG  # not laid out yet


def test_a_low_row_shows_each_part_whole_or_not_at_all():
    born, status = "3B · 15 Mar 2018", "◇ rescreen · left 4000 Hz"
    said = [beside(born, status, 18, room) for room in (600, 310, 245, 150)]
    assert said == [f"{born} · {status}", f"{born} · ◇ rescreen", "15 Mar 2018 · ◇ rescreen", "◇ rescreen"]
    assert beside("", "passed", 18, 400) == "passed"


def test_a_text_breaks_at_its_spaces_and_a_word_only_where_it_alone_is_too_wide():
    letters = len
    assert broken("one two three", letters, 7) == [(0, "one two"), (8, "three")]
    assert broken("immeasurable x", letters, 5) == [(0, "immea"), (5, "surab"), (10, "le x")]
    assert broken("one", letters, 7) == [(0, "one")] and broken("", letters, 7) == [(0, "")]
    assert "".join(line for _first, line in broken("a bb ccc dddd", letters, 1)) == "abbcccdddd"


def test_a_file_s_name_too_long_for_its_line_breaks_at_a_joint_and_loses_nothing():
    name = "harrowgate-grades-3-4_newest.csv"
    said = wrapped(name, False, 23, 240)
    assert said.replace("\n", "") == name and len(said.split("\n")) == 2
    first, last = said.split("\n")
    assert first[-1] in "-_" and fits(first, False, 23, 240) and fits(last, False, 23, 240)
    assert wrapped("harrowgate.csv", False, 23, 160) == "harrowgate\n.csv"
    path = "/tmp/somewhere/beginning/protocols/by-hand.toml"
    assert wrapped(path, False, 23, 300) == "/tmp/somewhere/\nbeginning/protocols/\nby-hand.toml"
    assert wrapped("list of 3A.csv", False, 23, 400) == "list of 3A.csv"  # Kivy breaks at spaces as well
