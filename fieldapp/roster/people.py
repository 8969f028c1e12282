"""From the cells of one row to a person: names, number, address, guardian. Dates are read in ``dates``."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence

_NOTHING = re.compile(r"[\W_]+|n/?a|none|null|nil|unknown|tbd|ninguno|desconocido", re.I)
_SUFFIX = re.compile(r"(jr|sr|ii|iii|iv)\.?", re.I)
_STATE_AND_CODE = re.compile(r"[A-Za-z]{2}\.?\s+\d{5}(-\d{4})?|[A-Za-z .]+\s\d{4,5}|\d{4,5}|[A-Za-z]{2}\.?")
_ROUNDED = re.compile(r"\d(\.\d+)?e\+?\d+", re.I)
_LONGEST_NAME = 100
_YES = re.compile(r"y|yes|x|true|t|1|s|si|sí|v|[✓✔☑☒✗✘]")
_NO = re.compile(r"n|no|false|f|0|none|never|n/?a|☐|[-–—_.? ]*")
# The keys are those that protocols use for what else than its grade makes a child due.
_DUE = {
    "due_new": "new",
    "due_concern": "concern",
    "due_absent_last_time": "absent-last-time",
    "due_special_education": "special-education",
    "due_repeat_grade": "repeat-grade",
}


def tidy(text: str) -> str:
    """One line, single spaces, composed letters; a spreadsheet's ``="..."`` wrapping removed."""
    if not text.isascii():
        text = unicodedata.normalize("NFC", text.replace("\ufeff", "").replace("\u200b", ""))
    text = " ".join(text.split())
    if text.startswith('="') and text.endswith('"') and len(text) > 3:
        text = text[2:-1]
    return text


def tidy_or_nothing(text: str) -> str:
    """As ``tidy``, with ``n/a``, ``none``, ``-`` and the like read as empty. Not for names: one may be so."""
    text = tidy(text)
    # None of the words for nothing is longer than "desconocido".
    return "" if len(text) < 12 and _NOTHING.fullmatch(text) else text


def name_of(text: str) -> str:
    """A name; empty where the cell holds no letter at all."""
    text = tidy(text).strip('"*,; ')
    return text if any(character.isalpha() for character in text) else ""


def unfit_name(text: str) -> str:
    """Why a name cannot be one, or an empty string."""
    if text.startswith("#") and text.rstrip("/A").endswith(("!", "?", "N")):
        return "is a spreadsheet's error mark"
    if len(text) > _LONGEST_NAME:
        return "is too long to be a name"
    if any(unicodedata.category(character) in ("Cc", "Cn") for character in text):
        return "holds characters that are no letters; the file may have been saved in another encoding"
    return "holds a number" if holds_a_number(text) else ""


def holds_a_number(text: str) -> bool:
    """Whether a name cell is a telephone or student number rather than a name with a digit in it."""
    digits = sum(character.isdigit() for character in text)
    return digits > 2 * sum(character.isalpha() for character in text)


def split_name(text: str) -> tuple[str, str]:
    """``Family, Given`` as (given, family); without a comma the first word is taken as the given name."""
    parts = [tidy(part) for part in re.split(r"[,;]", text)]
    parts = [part for part in parts if part]
    if len(parts) > 2:
        suffixes = [part for part in parts[1:] if _SUFFIX.fullmatch(part)]
        parts = [
            " ".join([parts[0], *suffixes]),
            " ".join(part for part in parts[1:] if part not in suffixes),
        ]
    if len(parts) == 2:
        return name_of(parts[1]), name_of(parts[0])
    if "," in text or not parts:  # "Family," with nothing behind it
        return "", name_of(text)
    given, _, family = parts[0].partition(" ")
    return name_of(given), name_of(family)


def number_of(text: str) -> str:
    """A student number as text: leading zeros kept, a spreadsheet's ``.0`` removed."""
    text = tidy_or_nothing(text)
    return re.sub(r"(?<=\d)\.0+$", "", text)


def unfit_number(text: str) -> str:
    """Why a student number cannot be trusted, or an empty string."""
    if _ROUNDED.fullmatch(text):
        return "was rounded by a spreadsheet"
    return "is too long to be a number" if len(text) > 64 else ""


def address_of(fields: Mapping[str, str]) -> tuple[str, ...]:
    """The address as lines for a window envelope: street lines first, town and post code last."""
    lines = _address_lines(fields.get("address", ""))
    second = tidy_or_nothing(fields.get("address_2", ""))
    if second:
        lines.append(second)
    town = tidy_or_nothing(fields.get("town", ""))
    if not town:
        city, state, code = (
            tidy_or_nothing(fields.get(field, "")) for field in ("city", "state", "post_code")
        )
        place = " ".join(part for part in (state, number_of(code)) if part)
        town = ", ".join(part for part in (city, place) if part)
    if town:
        lines.append(town)
    return tuple(lines)


def _address_lines(text: str) -> list[str]:
    lines = [tidy_or_nothing(line) for line in re.split(r"\r\n|\r|\n", text.strip())]
    lines = [line for line in lines if line]
    if len(lines) != 1 or ", " not in lines[0]:
        return lines
    parts = [part.strip() for part in lines[0].split(", ") if part.strip()]
    if len(parts) > 2 and _STATE_AND_CODE.fullmatch(parts[-1]):
        parts = [*parts[:-2], f"{parts[-2]}, {parts[-1]}"]
    return parts


def due_reasons_of(fields: Mapping[str, str], grade: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The reasons for which a child is due besides its grade, and the fields whose cell is neither yes nor no.

    In a column about concerns any words are a concern, so that nobody who was asked for is dropped.
    """
    reasons: list[str] = ["special-ungraded"] if grade == "UG" else []
    unclear: list[str] = []
    for field, reason in _DUE.items():
        text = tidy(fields.get(field, "")).casefold()
        if _NO.fullmatch(text):
            continue
        if _YES.fullmatch(text) or reason == "concern":
            reasons.append(reason)
        else:
            unclear.append(field)
    return tuple(reasons), tuple(unclear)


def says_yes(text: str) -> bool | None:
    """Whether a cell says yes or no; None where it says neither."""
    text = tidy(text).casefold()
    if _NO.fullmatch(text):
        return False
    return True if _YES.fullmatch(text) else None


def guardian_of(fields: Mapping[str, str]) -> str:
    """The guardian's name, from one column or from two."""
    whole = tidy_or_nothing(fields.get("guardian", ""))
    if whole:
        return whole
    parts: Sequence[str] = [
        tidy_or_nothing(fields.get(f"guardian_{part}", "")) for part in ("given", "family")
    ]
    return " ".join(part for part in parts if part)
