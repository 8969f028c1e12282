"""How hard the letters home are to read, by two published formulas (both from memory):

English: Kincaid and others, 1975: grade = 0.39 words a sentence + 11.8 syllables a word - 15.59.
Spanish: Fernández Huerta, 1959: ease = 206.84 - 60 syllables a word - 1.02 words a sentence; 70 to 80 is grade 6.
Syllables are counted by vowels, which errs a little either way.
"""

from __future__ import annotations

import re

import pytest

from fieldapp.papers.letter_wording import load_wording

VALUES = {
    "child": "Ana Ruiz",
    "given": "Ana",
    "screened_on": "May 4",
    "ears": "left ear",
    "phone": "555 0100",
}
VALUES |= {
    "window": "between May 18 and June 15",
    "school": "Elm",
    "office": "Elm",
    "signer": "",
    "issued": "",
}
SPANISH = VALUES | {
    "screened_on": "4 de mayo",
    "ears": "oído izquierdo",
    "window": "entre el 18 y el 30 de mayo",
}
LETTERS = ("passed", "rescreen", "could-not-test", "referral")


def english_syllables(word: str) -> int:
    word = word.lower()
    if word.endswith("e") and not word.endswith("le"):
        word = word[:-1]
    return max(1, len(re.findall(r"[aeiouy]+", word)))


def spanish_syllables(word: str) -> int:
    strong = re.sub(r"[íú]", " a ", word.lower())  # an accented weak vowel is a syllable of its own
    return max(1, len(re.findall(r"[aeoáéó]|(?<![aeoáéó])[iuü]+(?![aeoáéó])", strong)))


def measured(name: str, language: str, count) -> tuple[float, float]:
    """Words a sentence, syllables a word."""
    wording = load_wording(name, language)
    text = " ".join(phrase.fill(VALUES if language == "en" else SPANISH) for phrase in wording.body)
    sentences = [part for part in re.split(r"[.?:]+(?:\s|$)", text) if part.strip()]
    words = re.findall(r"[^\W\d_]+(?:'\w+)?", text)
    return len(words) / len(sentences), sum(map(count, words)) / len(words)


@pytest.mark.parametrize("name", LETTERS)
def test_the_english_letters_are_for_grade_six(name: str) -> None:
    a_sentence, a_word = measured(name, "en", english_syllables)
    assert 0.39 * a_sentence + 11.8 * a_word - 15.59 < 6.5, (a_sentence, a_word)


@pytest.mark.parametrize("name", LETTERS)
def test_the_spanish_letters_are_fairly_easy(name: str) -> None:
    a_sentence, a_word = measured(name, "es", spanish_syllables)
    assert 206.84 - 60 * a_word - 1.02 * a_sentence > 70, (a_sentence, a_word)


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("name", LETTERS)
def test_every_letter_says_what_happens_next_and_whom_to_ask(name: str, language: str) -> None:
    text = " ".join(
        phrase.fill(VALUES | {"phone": "555 0100"}) for phrase in load_wording(name, language).body
    )
    assert "555 0100" in text
    assert ("doctor" if language == "en" else "médico") in text
    if name != "passed":
        assert re.search(r"next|We will try" if language == "en" else r"siguiente paso|ahora", text)
