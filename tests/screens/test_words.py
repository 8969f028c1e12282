"""The words: both languages whole, every key that is used is there, every letter can be drawn."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from string import Formatter

import pytest

import assets
from fieldapp.papers.letter_wording import load_wording
from fieldapp.papers.yearly import COLUMNS
from fieldapp.screens import phrases
from fieldapp.screens.translation import LANGUAGES, Translator, words_of
from fieldapp.sentences import sentences_of
from fieldapp.services.presets import load_protocol
from shared.hearing.room import permitted_level
from shared.records.standing import Status
from tests.screens.sentences_said import said_by_the_code, sentences_in

ROOT = Path(__file__).parents[2] / "fieldapp"
LETTERS = ("could-not-test", "passed", "referral", "rescreen")
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
    assert said.startswith(
        "Umbral demasiado alto para evaluar a 20 dB HL: 40 dB HL en el izquierdo a 2000 Hz, "
        "45 dB HL en el izquierdo a 4000 Hz. El protocolo no permite más nivel"
    )
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
    assert spanish(both).startswith(
        "Umbral demasiado alto para evaluar a entre 20 y 25 dB HL: 40 dB HL en el derecho a 500 Hz. "
    )


# -- one list of words for screens and papers -------------------------------------------------------

#: What a screen and a paper both name; a word of the screen -> the same word on paper.
SHARED_TITLES = {
    "papers.rescreen-list": "rescreen_title",
    "papers.not-yet-screened-list": "not_yet_title",
    "papers.absentee-list": "absent_title",
    "papers.could-not-test-list": "could_not_title",
    "papers.medical-list": "medical_title",
    "papers.threshold-list": "threshold_title",
    "papers.exempt-list": "exempt_title",
    "papers.referral-list": "referred_title",
    "papers.class-slips": "slips_title",
    "papers.letters-rescreen": "letters_rescreen",
    "papers.letters-could-not-test": "letters_could_not_test",
    "papers.letters-referral": "letters_referral",
    "papers.letters-passed": "letters_passed",
    "papers.readiness-log": "log_title",
    "papers.station-watch": "watch_title",
    "threshold.title": "record_thresholds",
    "findings.title": "record_examination",
    "findings.sign_silent": "no_response",
    "findings.sign_masked": "masked_sign",
    "findings.no_degree": "no_degree",
    "findings.earphones_insert": "earphones.insert",
    "readiness.kind_insert": "earphones.insert",
    "protocol.then_threshold": "status.threshold",
}


def paper_words(language):
    """The fixed words of the papers, keys joined by dots."""
    said = tomllib.loads(assets.path("letters", f"papers.{language}.toml").read_text("utf-8"))
    tables = {name: table for name, table in said.items() if isinstance(table, dict)}
    plain = {name: text for name, text in said.items() if name not in tables}
    return plain | {f"{name}.{key}": text for name, table in tables.items() for key, text in table.items()}


def shared_words(screens, papers):
    """(key on the screen, key on paper) of all that both name."""
    groups = {
        "status.": "status.",
        "count.": "counts.",
        "ear_sign.": "ear_sign.",
        "degree.": "findings.degree_",
    }
    for key in papers:
        for on_paper, on_screen in groups.items():
            if key.startswith(on_paper):
                yield on_screen + key.removeprefix(on_paper), key
        for on_screen in ("followup.step_", "followup.why_"):
            if key.startswith("step.") and on_screen + key.removeprefix("step.") in screens:
                yield on_screen + key.removeprefix("step."), key
    yield from SHARED_TITLES.items()


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_screen_and_a_paper_call_the_same_thing_by_the_same_word(language):
    screens, papers = words_of(language), paper_words(language)
    pairs = dict.fromkeys(shared_words(screens, papers))
    pairs.pop(
        ("followup.why_closed", "step.closed")
    )  # "another reason", to be typed: no word for a closed case
    assert {f"status.{status.value}" for status in Status} <= {screen for screen, _paper in pairs}
    assert {f"count.{column}" for column in COLUMNS} <= {paper for _screen, paper in pairs}
    differ = {
        screen: (screens[screen], papers[paper])
        for screen, paper in pairs
        if screens[screen].casefold() != papers[paper].casefold()
    }
    assert differ == {}
    assert papers["summary_title"].startswith(screens["papers.yearly-summary"])
    assert screens["counts.title"] == screens["papers.yearly-summary"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_response_has_one_sign(language):
    """On a walk, a threshold test, an examiner's audiogram, a child's page and every paper."""
    screens, sign = words_of(language), paper_words(language)["no_response"]
    for key in ("walk.cell_missed", "findings.sign_silent", "child_page.not_heard"):
        assert screens[key] == sign
    assert screens["child_page.no_answer"] == f"{sign} {{limit}}"
    assert f"{sign}:" in paper_words(language)["levels_in"]
    assert f"{sign} " in load_wording("referral", language).reply["thresholds"]


def test_spanish_has_no_second_word_for_what_has_one():
    """Said everywhere: evaluado, puesto, cojín, en atención, pasó, prueba de umbral, profesional, reevaluación,
    aparato, perilla, documento, maestro, no autorizó, promedio."""
    others = (
        r"\b(?:probad[oa]s?|estaci[oó]n(?:es)?|almohadillas?|en tratamiento|aprobad[oa]s?|pruebas? de umbrales"
        r"|examinador(?:es)?|lista de repetici[oó]n|plazo de repetici[oó]n|dispositivos?|mandos?|papeles|un papel"
        r"|docentes?|la familia no quiso(?! seguir)|media de \d|cribado|tamizaje|quien dirige)\b"
    )
    letters = [
        text
        for name in LETTERS
        for text in assets.path("letters", f"{name}.es.toml").read_text("utf-8").splitlines()
    ]
    texts = [*words_of("es").values(), *sentences_of("es").values(), *paper_words("es").values(), *letters]
    found = [text for text in texts if re.search(others, text, re.I)]
    assert found == []


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


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_name_of_a_tablet_is_not_torn_from_its_word(language):
    t = Translator(language)
    for said in (phrases.tablet(t, "C"), phrases.pill(t, "C", "MK")):
        assert re.match(r"Tableta?\u00a0C\b", said)
    assert phrases.tablet(t, "Sala 2") == "Sala 2"


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_screener_is_told_on_which_scale_the_own_thresholds_are(language):
    """The keys say bare numbers, and a room's noise is in dB SPL one step later."""
    assert all("dB HL" in words_of(language)[f"readiness.own_{length}"] for length in ("words", "short"))
