"""Passphrases: how strong one must be, said kindly, and one to offer. Pure.

The floor follows NIST SP 800-63B (section 5.1.1.2: length over composition rules, a list of what is commonly
chosen, no sequences or repetition); its figure here is set locally, because a stolen file can be guessed at.
"""

from __future__ import annotations

from collections.abc import Callable

from shared.errors import Refused
from shared.vault.keys import LONGEST_PASSPHRASE

LEAST_LENGTH = 10
GOOD_LENGTH = 16
_LEAST_DIFFERENT = 5

# From memory: stems at the top of every published list of leaked passwords, and our own words.
_COMMON = frozenset(
    {"password", "passwort", "passphrase", "contrasena", "letmein", "welcome", "iloveyou", "sunshine"}
    | {"princess", "superman", "football", "baseball", "trustno", "administrator", "changeme", "secret"}
    | {"quietbell", "screening", "hearing", "audiometer", "school", "tablet"}
)
_RUNS = (
    "abcdefghijklmnopqrstuvwxyz",
    "01234567890123456789",
    "qwertyuiopasdfghjklzxcvbnm",
    "qwertzuiopasdfghjklyxcvbnm",
)


class WeakPassphrase(Refused):
    """The passphrase is too easily guessed; the message says why and what helps."""


def weakness(passphrase: str) -> str | None:
    """Why a passphrase is too weak, as one kind sentence, or None where it will do."""
    plain = passphrase.strip().casefold()
    if len(plain) < LEAST_LENGTH:
        return f"It has {len(plain)} characters, and a thief can try all that short: take {LEAST_LENGTH} or more."
    if len(passphrase) > LONGEST_PASSPHRASE:
        return f"It is longer than {LONGEST_PASSPHRASE} characters, and nobody types that twice."
    if len(set(plain)) < _LEAST_DIFFERENT:
        return "It repeats the same few characters."
    letters = "".join(sign for sign in plain if sign.isalnum())
    if any(letters in run or letters in run[::-1] for run in _RUNS) or _repeats(letters):
        return "It is a run of neighbouring keys or a repetition, which is tried first."
    if letters.strip("0123456789") in _COMMON:
        return "It is one common word with digits, which is tried first."
    return None


def _repeats(text: str) -> bool:
    return any(
        text == (text[:size] * (len(text) // size + 1))[: len(text)] for size in range(1, len(text) // 2 + 1)
    )


def advice(passphrase: str) -> str:
    """One sentence to show while someone types: what would make it better, or that it is good."""
    weak = weakness(passphrase)
    if weak is not None:
        return f"{weak} Four or more unrelated words are easy to remember and hard to guess."
    if len(passphrase.strip()) < GOOD_LENGTH:
        return "This will do. One more word would make it much harder to guess."
    return "This is a good passphrase."


def require(passphrase: str) -> None:
    """Raise ``WeakPassphrase`` where the passphrase is below the floor."""
    if weakness(passphrase) is not None:
        raise WeakPassphrase("This passphrase is too easy to guess.", todo=advice(passphrase))


def suggestion(random: Callable[[int], bytes]) -> str:
    """Four made-up words of three syllables to offer: 12 times one of 16 x 5 syllables, 75 bits."""
    syllables: list[str] = []
    while len(syllables) < 12:
        (byte,) = random(1)
        if byte < 240:  # 240 = 3 x 80: every syllable equally likely
            syllables.append("bdfghjklmnprstvz"[byte % 16] + "aeiou"[byte // 16 % 5])
    return " ".join("".join(syllables[start : start + 3]) for start in range(0, 12, 3))
