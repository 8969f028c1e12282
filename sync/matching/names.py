"""Names as they are compared: folded, split into parts, and how much two of them agree. No weights, no people.

Folding forgives what clerks write differently (capitals, accents, hyphens, apostrophes, particles, "Jr."); the
levels say what is left. The level is a fact about two spellings; what it is worth is in ``weights``.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from enum import IntEnum
from functools import lru_cache

from sync.matching.distance import edits, jaro_winkler, may_be_alike, one_off
from sync.matching.nicknames import borne, official, one_name, two_genders
from sync.matching.slips import pen_slip, single

PARTICLES = frozenset(  # "y e i" join two family names in Spanish, Portuguese and Catalan
    "de del la las los el y e i da das do dos di du des le van von der den ter ten zu bin ibn al san santa".split()  # noqa: SIM905
)
GIVEN_PARTICLES = frozenset(
    ("de", "del", "la", "las", "los")
)  # María de los Ángeles; but Van Anh is two parts
SUFFIXES = frozenset(("jr", "sr", "ii", "iii", "iv", "junior"))
LETTERS = str.maketrans(
    {"ß": "ss", "ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"}
)
APOSTROPHES = frozenset("'’‘`´ʻʼ.")
LONGEST = 120  # letters that are looked at: no name is longer, and the work grows with their square
ASCII = {
    code: None if chr(code) in APOSTROPHES else chr(code).lower() if chr(code).isalnum() else " "
    for code in range(128)
}


class Level(IntEnum):
    """How much two names agree, best first."""

    SAME = 0  # after folding
    FORM = 1  # a nickname or another form of the name (given names only)
    PART = 2  # one is a part of the other: García and García López, Ana and Ana María
    SLIP = 3  # one letter off, and one spelling is nobody else's (told by the population, never by two names alone)
    ONE_OFF = 4  # one letter changed, missing, extra, or two neighbours exchanged
    CLOSE = 5  # two letters off in a longer name, or sounding alike
    INITIAL = 6  # one is only the other's initial, or its first letters
    ALIKE = 7  # some likeness
    SHARED = 8  # one part in common, the other parts differ: García López and García Pérez
    DIFFERENT = 9
    UNKNOWN = 10  # one of them is empty


@dataclass(frozen=True, slots=True)
class Name:
    """A folded name.

    ``parts`` are its words without particles and suffixes, ``whole`` the same without spaces, ``joined`` with its
    particles ("delacruz"), ``sound`` how it roughly sounds.
    """

    whole: str
    parts: tuple[str, ...]
    joined: str
    sound: str

    def __bool__(self) -> bool:
        return bool(self.whole)


def written_alike(one: str, other: str) -> str:
    """How two names that fold to the same are written: "same", "accents" where nothing but accents differs, else
    "otherwise". Capitals and the width of spaces are nobody's business."""
    one, other = (
        " ".join(unicodedata.normalize("NFKC", text[:LONGEST]).casefold().split()) for text in (one, other)
    )
    if one == other:
        return "same"
    return "accents" if _bare(one) == _bare(other) else "otherwise"


def accents_differ(one: str, other: str) -> bool:
    """Whether two names that are alike but for accents bear two different ones on one letter: Hà is not Hạ.

    An accent that is left out (Jose, José) is only that.
    """
    if one.isascii() or other.isascii():
        return False
    letters, others = _with_accents(one), _with_accents(other)
    if [letter for letter, _ in letters] != [letter for letter, _ in others]:
        return False
    return any(a and b and a != b for (_, a), (_, b) in zip(letters, others, strict=True))


def _with_accents(text: str) -> list[tuple[str, str]]:
    """Every letter with the accents on it."""
    found: list[tuple[str, str]] = []
    for sign in unicodedata.normalize("NFKD", text[:LONGEST].casefold()):
        if unicodedata.combining(sign) and found:
            found[-1] = (found[-1][0], found[-1][1] + sign)
        elif sign.isalnum():
            found.append((sign, ""))
    return found


def _bare(text: str) -> str:
    """Without accents, "ñ" without its tilde too."""
    return "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))


def fold(text: str) -> str:
    """Lower case, no accents, apostrophes dropped, every other sign a space: "O'Neill-Peña" -> "oneill pena"."""
    text = text[:LONGEST]
    if text.isascii():  # most names, answered fast
        return " ".join(text.translate(ASCII).split())
    plain = unicodedata.normalize("NFKD", unicodedata.normalize("NFKC", text).casefold().translate(LETTERS))
    kept = (
        "" if unicodedata.combining(sign) or sign in APOSTROPHES else sign if sign.isalnum() else " "
        for sign in plain
    )
    return " ".join("".join(kept).split())


@lru_cache(maxsize=65536)
def name(text: str, particles: frozenset[str] = PARTICLES) -> Name:
    """The name as it is compared. Particles count only where nothing else is left ("De La O")."""
    words = fold(text).split()
    kept = [word for word in words if word not in SUFFIXES] or words
    parts = tuple(word for word in kept if word not in particles) or tuple(kept)
    whole = "".join(parts)
    return Name(whole, parts, "".join(kept), sound(whole))


def given_name(text: str) -> Name:
    """A given name as it is compared: fewer particles, since many are names of their own."""
    return name(text, GIVEN_PARTICLES)


@lru_cache(maxsize=65536)
def sound(word: str) -> str:
    """A rough sound key for English and Spanish: first sound, then consonants; b=v, s=z=c, k=q, i=y, h silent."""
    for written, spoken in (
        ("ph", "f"), ("ck", "k"), ("qu", "k"), ("ce", "se"), ("ci", "si"), ("sch", "s"), ("sh", "s"), ("gh", "g"),
        ("ll", "y"), ("h", ""),
    ):  # fmt: skip
        word = word.replace(written, spoken)
    word = word.translate(SOUNDS)
    key = word[:1]
    for letter in word[1:]:
        if letter not in "aeiouwy" and letter != key[-1]:
            key += letter
    return key


SOUNDS = str.maketrans({"v": "b", "z": "s", "c": "k", "q": "k", "j": "y", "i": "y", "x": "s"})


@lru_cache(maxsize=65536)
def given_level(a: Name, b: Name) -> Level:
    """How much two given names agree."""
    level = family_level(a, b)
    if level in (Level.SAME, Level.PART, Level.UNKNOWN):
        return level
    if one_name(a.whole, b.whole) or (
        one_name(a.parts[0], b.parts[0]) and min(len(a.parts), len(b.parts)) == 1
    ):
        return Level.FORM
    return level


@lru_cache(maxsize=65536)
def family_level(a: Name, b: Name) -> Level:
    """How much two family names agree (and two given names, nicknames aside)."""
    if not a.whole or not b.whole:
        return Level.UNKNOWN
    if (
        a.whole == b.whole
        or a.joined == b.joined
        or (len(a.parts) > 1 and sorted(a.parts) == sorted(b.parts))
    ):
        return Level.SAME
    shared = {part for part in set(a.parts) & set(b.parts) if len(part) > 2}
    if shared and len(shared) == min(len(a.parts), len(b.parts)):
        return Level.PART
    if shared:
        return _with_shared_parts(a, b, shared)
    level = _spelling(a, b)
    if level > Level.CLOSE and len(a.parts) + len(b.parts) > 2 and _part_alike(a, b):
        return Level.CLOSE
    return level


def _with_shared_parts(a: Name, b: Name, shared: set[str]) -> Level:
    """García López against García Pérez: what the other parts say; a shared first part makes no likeness."""
    if one_off(a.whole, b.whole):
        return Level.ONE_OFF
    rest, other = ("".join(part for part in each.parts if part not in shared) for each in (a, b))
    return Level.CLOSE if _spelt_alike(rest, other) else Level.SHARED


ALIKE = 0.82  # Jaro-Winkler similarity


def _spelling(a: Name, b: Name) -> Level:
    x, y = a.whole, b.whole
    shorter, longer = sorted((x, y), key=len)
    if len(shorter) > 2 and (one_off(x, y) or one_off(a.joined, b.joined)):
        return Level.ONE_OFF
    if len(shorter) < 3:
        return Level.INITIAL if longer.startswith(shorter) else Level.DIFFERENT
    begins = longer.startswith(shorter)
    if not begins and a.sound != b.sound and not may_be_alike(x, y, ALIKE):
        return Level.DIFFERENT
    likeness = jaro_winkler(x, y)
    if likeness >= 0.92 or (len(shorter) >= 5 and edits(x, y, 2) <= 2):
        return Level.CLOSE
    if a.sound == b.sound and len(a.sound) > 1 and likeness > 0.7:
        return Level.CLOSE
    if begins:
        return Level.INITIAL
    return Level.ALIKE if likeness >= ALIKE else Level.DIFFERENT


def _part_alike(a: Name, b: Name) -> bool:
    """Whether a single name is, but for one letter or its spelling, one of the other's parts."""
    few, many = sorted((a.parts, b.parts), key=len)
    return len(few) == 1 and len(few[0]) > 4 and any(_spelt_alike(few[0], part) for part in many)


def _spelt_alike(word: str, other: str) -> bool:
    return one_off(word, other) or (len(other) > 4 and sound(word) == sound(other))


def two_given_names(a: Name, b: Name, level: Level) -> bool:
    """Whether these may well be two children's names rather than two spellings of one.

    Twins are often named alike (Jayden and Kayden, Jaylen and Jaylin, Mario and Maria), so only a difference
    that makes no name of a name counts as a slip of the pen, and only a form under which nobody is registered as
    a pet name (Chuy and Jesús; but Alexa and Alexis may be two).
    """
    if a.parts != b.parts and sorted(a.parts) == sorted(b.parts):
        return True  # María José and José María
    if level in (Level.SAME, Level.PART, Level.UNKNOWN):
        return False
    one, other = _what_differs(a, b)
    if level == Level.FORM:
        return two_genders(one, other) or (official(one) and official(other))
    if level == Level.SLIP:
        return not pen_slip(one, other)
    one_is_known = borne(one) != borne(other) or single(one) == single(other)
    return not (level == Level.ONE_OFF and one_is_known and pen_slip(one, other))


def _what_differs(a: Name, b: Name) -> tuple[str, str]:
    """Of Ana María and Ana Marta, María and Marta: the only parts that differ, else the whole names."""
    unlike = [pair for pair in zip(a.parts, b.parts, strict=False) if pair[0] != pair[1]]
    return unlike[0] if len(a.parts) == len(b.parts) and len(unlike) == 1 else (a.whole, b.whole)
