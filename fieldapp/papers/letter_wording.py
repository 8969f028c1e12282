"""The wording of the letters home: reading a TOML file that a school may have edited, and filling it in.

Only reading, checking and filling of wording may live here. Whatever is wrong with a file is refused before the
first letter is printed, naming the file and the field.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from string import Formatter
from typing import Any

import assets
from fieldapp.papers.wording import language_of
from shared.errors import Refused

#: What a letter may say in braces; ``assets/letters/README.md`` explains each.
FIELDS = frozenset(
    {
        *("child", "given", "class", "grade", "school", "visit_days", "screened_on", "ears", "window"),
        *("office", "phone", "signer", "issued"),
    }
)
#: Parts that a school's own older file may lack; they come from the file that came with the app.
NEWER_PARTS = (
    *("thresholds", "air_right", "air_left", "bone_right", "bone_left"),
    *("phones_on", "phones_in"),
)
REPLY_PARTS = (
    *("title", "explain", "born", "date", "result", "within", "not_within", "ear_right", "ear_left"),
    *NEWER_PARTS,
    *("findings", "again", "examiner", "contact", "signature", "return_to"),
)
_LINES = ("title", "to", "greeting", "closing")
LARGEST = 100_000  # bytes


class WordingRefused(Refused):
    """A letter's wording cannot be used; ``file`` and ``field`` say where."""

    def __init__(self, file: str, field: str, reason: str) -> None:
        self.file, self.field = file, field
        super().__init__(
            f"The letter wording {file} is refused: {field} {reason}.",
            kept="No letter was printed with it; everything recorded is as it was.",
            todo="Correct the file, or take it away to use the wording that came with the app.",
        )


Piece = tuple[str, str]  # text, then a field's name or nothing


@dataclass(frozen=True, slots=True)
class Phrase:
    """One text with fields, taken apart once."""

    pieces: tuple[Piece, ...]

    @property
    def fields(self) -> frozenset[str]:
        """The fields it uses."""
        return frozenset(field for _, field in self.pieces if field)

    def fill(self, values: Mapping[str, str]) -> str:
        """The text with its fields filled in; empty where one of them has no value."""
        if not all(values.get(field) for _, field in self.pieces if field):
            return ""
        return "".join(text + (values[field] if field else "") for text, field in self.pieces)


@dataclass(frozen=True, slots=True)
class LetterWording:
    """One letter in one language."""

    name: str
    language: str
    title: Phrase
    to: Phrase
    greeting: Phrase
    body: tuple[Phrase, ...]
    closing: Phrase
    reply: Mapping[str, str] | None = None


def load_wording(name: str, language: str, folder: Path | None = None) -> LetterWording:
    """The wording of a letter for a home language: the school's own file, else the one that came with the app.

    A language without a file gets English. Raises ``WordingRefused`` naming the file and the field.
    """
    spoken = language_of(language)
    file = f"{name}.{spoken}.toml"
    own = folder / file if folder else None
    shipped = assets.path("letters", file)
    return _read(own if own and own.is_file() else shipped, name, spoken)


def _read(path: Path, name: str, language: str) -> LetterWording:
    data = _table(path)
    known = {*_LINES, "body", "reply"}
    for key in data:
        if key not in known:
            raise WordingRefused(path.name, f"the part '{key}'", "is not known")
    lines = {key: _phrase(path.name, key, data.get(key)) for key in _LINES}
    body = data.get("body")
    if not isinstance(body, list) or not body:
        raise WordingRefused(path.name, "the part 'body'", "must be a list of paragraphs")
    paragraphs = tuple(_phrase(path.name, "body", paragraph) for paragraph in body)
    return LetterWording(name, language, body=paragraphs, reply=_reply(path.name, name, data), **lines)


def _table(path: Path) -> dict[str, Any]:
    try:
        if path.stat().st_size > LARGEST:
            raise WordingRefused(path.name, "the file", "is far too large")
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        at = f" ({error})" if isinstance(error, tomllib.TOMLDecodeError) else ""
        raise WordingRefused(path.name, "the file", f"is not readable TOML in UTF-8{at}") from None
    except OSError as error:
        reason = (error.strerror or "unknown fault").lower()
        raise WordingRefused(path.name, "the file", f"cannot be read ({reason})") from None


def _reply(file: str, name: str, data: Mapping[str, Any]) -> dict[str, str] | None:
    reply = data.get("reply")
    if name != "referral":
        if reply is not None:
            raise WordingRefused(file, "the part 'reply'", "belongs to the referral letter only")
        return None
    if not isinstance(reply, dict):
        raise WordingRefused(file, "the part 'reply'", "is missing")
    shipped = _table(assets.path("letters", file))["reply"]
    reply = {**{part: shipped[part] for part in NEWER_PARTS}, **reply}
    for part in (*reply, *REPLY_PARTS):
        if part not in REPLY_PARTS:
            raise WordingRefused(file, f"the part 'reply.{part}'", "is not known")
        if not isinstance(reply.get(part), str):
            raise WordingRefused(file, f"the part 'reply.{part}'", "must be a text")
    return dict(reply)


def _phrase(file: str, part: str, text: object) -> Phrase:
    if not isinstance(text, str) or not text.strip():
        raise WordingRefused(file, f"the part '{part}'", "must be a text")
    try:
        pieces = list(Formatter().parse(text))
    except ValueError:
        raise WordingRefused(file, f"the part '{part}'", "has a brace without its partner") from None
    for _, field, spec, conversion in pieces:
        if field is not None and (field not in FIELDS or spec or conversion):
            shown = f"{field}{'!' + conversion if conversion else ''}{':' + spec if spec else ''}"
            raise WordingRefused(
                file,
                f"the field '{{{shown}}}' in '{part}'",
                f"is not known (known: {', '.join(sorted(FIELDS))})",
            )
    return Phrase(tuple((literal, field or "") for literal, field, _, _ in pieces))
