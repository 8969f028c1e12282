"""Slips of the pen and of the finger: whether two spellings, one letter apart, are one name. No weights, no people.

Twins are often named alike (Jayden and Kayden, Mario and Maria), so what passes here makes no name of a name: it is
a letter doubled, letters together that stand so in no known name, or a key struck beside the right one.
"""

from __future__ import annotations

from collections import Counter
from functools import cache

from sync.matching.nicknames import borne, borne_names

VOWELS = frozenset("aeiouy")
KEYS = ("qwertyuiop", "asdfghjkl", "zxcvbnm")
SHIFTED = (0.0, 0.25, 0.75)  # how far each row of keys stands to the right
SELDOM = 64


def pen_slip(a: str, b: str) -> bool:
    """Whether two spellings, one letter apart, differ as a slip would and as two names seldom do.

    A letter doubled is a slip. Of other differences, never one between two names that children bear; but letters
    together that are so in no known name, and two neighbours exchanged, are. Else two names that are short, or differ
    in their first letter, in a last vowel or a vowel for a vowel, may be two names, unless one is a known name and
    the other looks like what a finger makes of it.
    """
    if single(a) == single(b):
        return True
    if min(len(a), len(b)) < 3:
        return False
    if not (a.isascii() and b.isascii()) or (borne(a) and borne(b)):
        return False  # of names in other scripts nothing is known here
    if unlike_a_name(a) or unlike_a_name(b) or sorted(a) == sorted(b):
        return True
    if a[0] != b[0]:
        return False
    if borne(a) != borne(b) and _finger_slip(*((b, a) if borne(a) else (a, b))):
        return True
    if min(len(a), len(b)) < 5:
        return False
    if a[-1] != b[-1]:
        return len(a) == len(b) and not VOWELS & {a[-1], b[-1]}
    at = _first_difference(a, b)
    return not (len(a) == len(b) and a[at] in VOWELS and b[at] in VOWELS)


def single(word: str) -> str:
    """The word with every doubled letter once."""
    return "".join(letter for at, letter in enumerate(word) if letter != word[at - 1 : at])


def unlike_a_name(word: str) -> bool:
    """Whether letters stand together that stand so in no known name: "bfody", "lachln"."""
    return word.isascii() and not _sequences().issuperset(_letters_together(word))


def _finger_slip(written: str, meant: str) -> bool:
    """Whether ``written``, no known name, is what a finger makes of ``meant``: another key, or odd letters together.

    Not where both may be names after all: short ones, and those that differ in a last vowel or a vowel for a vowel.
    """
    if max(len(written), len(meant)) < 4:
        return False
    at = _first_difference(written, meant)
    if len(written) == len(meant):
        letters = {written[at], meant[at]}
        if _neighbours(written[at], meant[at]):
            return True
        last = at == len(meant) - 1
        may_be_a_name = bool(letters & VOWELS) if last else letters <= VOWELS
    else:
        longer = max(written, meant, key=len)
        may_be_a_name = at == len(longer) - 1 and longer[at] in VOWELS
    return not may_be_a_name and _seldom_together(written, meant)


def _first_difference(a: str, b: str) -> int:
    return next(at for at in range(max(len(a), len(b))) if a[at : at + 1] != b[at : at + 1])


@cache
def _places() -> dict[str, tuple[int, float]]:
    """Where each letter's key stands on the keyboard of an English or Spanish tablet: row, and place in it."""
    return {
        key: (row, place + SHIFTED[row]) for row, keys in enumerate(KEYS) for place, key in enumerate(keys)
    }


def _neighbours(a: str, b: str) -> bool:
    """Whether the keys of these two letters touch."""
    one, other = _places().get(a), _places().get(b)
    return bool(one and other and abs(one[0] - other[0]) <= 1 and abs(one[1] - other[1]) <= 1)


@cache
def _sequences() -> frozenset[str]:
    return frozenset(each for name in borne_names() for each in _letters_together(name))


def _letters_together(word: str) -> list[str]:
    """Every two letters side by side and every run of consonants; "." is the word's beginning and end."""
    framed = f".{word}."
    runs = "".join(" " if letter in "aeiouy" else letter for letter in framed).split()
    return [*_side_by_side(word, 2), *runs]


def _side_by_side(word: str, count: int) -> list[str]:
    framed = f".{word}."
    return [framed[at : at + count] for at in range(len(framed) - count + 1)]


@cache
def _counts(count: int) -> Counter[str]:
    """In how many known names so many letters stand side by side."""
    return Counter(each for name in borne_names() for each in set(_side_by_side(name, count)))


def _seldom_together(written: str, meant: str) -> bool:
    """Whether the slip brings three letters together of which names that have two seldom have the third."""
    threes, twos = _counts(3), _counts(2)
    return any(
        SELDOM * (threes[each] + 0.3) <= max(twos[each[:2]], twos[each[1:]]) + 6  # so little says nothing yet
        for each in set(_side_by_side(written, 3)).difference(_side_by_side(meant, 3))
    )
