"""Grades as schools write them, to the short forms that protocols use: PK, TK, K, 1 to 12, UG (ungraded)."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_WORDS = {
    "PK": "pk prek prekg prekindergarten prekinder preschool pre p pp pr ps prk 3k 4k pk3 pk4 p3 p4 "
    "prek3 prek4 preescolar ecse ec ece n nursery -1 -2 -3",
    "TK": "tk transitionalkindergarten transitionalk ttk",
    "K": "k kg kn kdg kind kinder kindergarten kindergarden kf k5 ka kp kam kpm kgarten 0 jardin",
    "UG": "ug ungraded un ng nograde sp sped",
    "1": "first one primero primer",
    "2": "second two segundo",
    "3": "third three tercero tercer",
    "4": "fourth four cuarto",
    "5": "fifth five quinto",
    "6": "sixth six sexto",
    "7": "seventh seven septimo setimo",
    "8": "eighth eight octavo",
    "9": "ninth nine noveno freshman",
    "10": "tenth ten decimo sophomore",
    "11": "eleventh eleven undecimo onceavo junior",
    "12": "twelfth twelve duodecimo doceavo senior",
}
_GRADE_OF = {word: grade for grade, words in _WORDS.items() for word in words.split()}
_NUMBER = re.compile(r"0*(\d{1,2})(?:\.0+)?(?:st|nd|rd|th|er|ro|ra|do|da|to|ta|mo|ma|vo|va|no|na|o|a)?")
_AROUND = re.compile(r"^(grade|gr|g|grado|curso|level|year)|(grade|grado|gr|curso)$")


@lru_cache(maxsize=256)  # a school writes a few dozen
def read_grade(text: str) -> str | None:
    """The grade's short form, or None where the text is no grade. Case, spaces and dots do not count."""
    plain = unicodedata.normalize("NFKD", re.sub(r"(?<=\w)\s*\(.*\)", "", text)).casefold()
    plain = "".join(c for c in plain if not unicodedata.combining(c))
    plain = re.sub(r"[\s_#()°]+|(?<!\d)\.|\.(?!\d)|(?<=\w)-|-(?!\d)", "", plain)
    for candidate in (plain, _AROUND.sub("", plain)):
        if candidate in _GRADE_OF:
            return _GRADE_OF[candidate]
        if (found := _NUMBER.fullmatch(candidate)) and int(found[1]) <= 12:
            return str(int(found[1])) if int(found[1]) else "K"
    return None
