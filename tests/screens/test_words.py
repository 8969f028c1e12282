"""The words: both languages whole, every key that is used is there, every letter can be drawn."""

from __future__ import annotations

import re
from pathlib import Path
from string import Formatter

import pytest

from fieldapp.screens.translation import LANGUAGES, Translator, words_of
from fieldapp.sentences import sentences_of
from fieldapp.services.presets import load_protocol
from shared.hearing.room import permitted_level
from shared.records.standing import Status
from tests.screens.sentences_said import said_by_the_code, sentences_in

ROOT = Path(__file__).parents[2] / "fieldapp"
FONTS = Path(__file__).parents[2] / "assets" / "fonts"


def values(text):
    return sorted(name for _text, name, _spec, _conversion in Formatter().parse(text) if name)


def test_both_languages_have_the_same_keys_and_values():
    english = words_of("en")
    for language in LANGUAGES:
        other = words_of(language)
        assert english.keys() == other.keys()
        for key, text in english.items():
            assert values(text) == values(other[key]), (language, key)
            assert text.count("[b]") == other[key].count("[b]") == other[key].count("[/b]")


def test_spanish_is_spanish():
    english, spanish = words_of("en"), words_of("es")
    alike = [
        k
        for k, text in english.items()
        if text == spanish[k] and len(re.findall(r"\b[a-z]{3,}", re.sub(r"{.*?}", "", text))) > 1
    ]
    assert alike == []


def test_every_key_in_code_and_kv_exists():
    known = words_of("en")
    used = set()
    for file in [*ROOT.rglob("*.py"), *ROOT.rglob("*.kv")]:
        used |= set(re.findall(r"""\bt\(\s*['"]([a-z_]+\.[a-zA-Z0-9_.-]+)['"]""", file.read_text("utf-8")))
    assert len(used) > 150
    assert sorted(used - known.keys()) == []


def test_every_status_and_month_has_a_word():
    for language in LANGUAGES:
        t = Translator(language)
        assert all(t(f"status.{status.value}") for status in Status)
        assert len({t(f"month.{n}") for n in range(1, 13)}) == 12


@pytest.mark.parametrize("weight", ["Regular", "Bold"])
def test_the_screen_font_has_every_letter_of_both_languages(weight):
    fonttools = pytest.importorskip("fontTools.ttLib")
    drawn = fonttools.TTFont(FONTS / f"QuietbellSans-{weight}.ttf").getBestCmap()
    for language in LANGUAGES:
        texts = [*words_of(language).values(), *sentences_of(language).values()]
        missing = {letter for text in texts for letter in text if letter not in "\n"} - set(map(chr, drawn))
        assert not missing, missing


def test_a_sentence_with_numbers_is_translated_around_them():
    spanish = Translator("es")
    assert spanish.sentence("Tablet C has not given back.") == "La tableta C no ha devuelto."
    assert spanish.sentence("no such sentence 7") == "no such sentence 7"
    assert Translator("en").sentence("Tablet C has not given back.") == "Tablet C has not given back."


def test_what_a_rule_names_within_a_sentence_is_translated_too():
    protocol = load_protocol("aaa-2011")
    tones = dict.fromkeys(protocol.frequencies, 5)
    spanish = Translator("es").sentence
    high = {"right": tones, "left": tones | {2000: 40, 4000: 45}}
    rule = permitted_level(high, protocol).rule
    assert "at left 2000 Hz, 45 dB HL at left 4000 Hz" in rule
    said = spanish(rule)
    assert "40 dB HL en el izquierdo a 2000 Hz, 45 dB HL en el izquierdo a 4000 Hz es demasiado alto" in said
    loud = "Noise of 61 dB SPL at 500 Hz (limit 50), 60.5 dB SPL at 1000 Hz (limit 53) "
    loud += "is beyond ASHA 1997: the room is not fit."
    assert spanish(loud) == (
        "El ruido de 61 dB SPL a 500 Hz (límite 50), 60.5 dB SPL a 1000 Hz (límite 53) "
        "supera ASHA 1997: la sala no sirve."
    )
    both = (
        "A threshold of 40 dB HL at right 500 Hz is too high to screen at 20 to 25 dB HL, and the protocol "
    )
    both += "allows no higher level: the room or the equipment is not fit."
    assert "en el derecho a 500 Hz es demasiado alto para evaluar a entre 20 y 25 dB HL" in spanish(both)


# -- sentences of errors and rules -----------------------------------------------------------------


def unnumbered(text):
    return re.sub(r"{\d}", "{}", text)


def is_known(text, known):
    """In these very words, or as the frame of known sentences, or one sentence after the other."""
    if unnumbered(text) in known:
        return True
    frame = re.compile(re.sub(r"\\{\d\\}", ".*", re.escape(text)))
    if "{" in text and any(frame.fullmatch(each) for each in known):
        return True
    first, stop, rest = text.partition(". ")
    return bool(stop) and is_known(first + ".", known) and is_known(rest, known)


@pytest.mark.parametrize("language", [language for language in LANGUAGES if language != "en"])
def test_every_sentence_that_an_error_or_a_rule_can_say_is_translated(language):
    known = {unnumbered(text) for text in sentences_of(language)}
    found = said_by_the_code()
    assert len(found) > 400
    missing = {place: text for text, place in found.items() if not is_known(text, known)}
    assert missing == {}


def test_the_reader_finds_sentences_and_passes_over_the_rest():
    source = '''
"""A module says what it is."""
def refuse(name):
    """A function too."""
    raise Refused(f"Tablet {name} is lost.", kept="Nothing was changed.", todo="no sentence", path="A.return")
'''
    assert [text for _line, text in sentences_in(source)] == [
        "Tablet {1} is lost.",
        "Nothing was changed.",
    ]


def test_translations_use_no_value_that_the_sentence_lacks():
    for language in LANGUAGES:
        for english, other in sentences_of(language).items():
            assert set(re.findall(r"{\d}", other)) <= set(re.findall(r"{\d}", english)), english
