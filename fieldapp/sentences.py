"""Whole English sentences that rules and errors give, in another language: for screens and papers. No Kivy.

The sentences are in ``assets/translations/sentences.LANGUAGE.toml``. ``{1}``, ``{2}`` ... stand for a number, a name, a
list or another known sentence within the sentence.
"""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache

import assets


@cache
def sentences_of(language: str) -> dict[str, str]:
    """Every known English sentence with its translation; none for English itself."""
    file = assets.path("translations", f"sentences.{language}.toml")
    if not file.exists():
        return {}
    with file.open("rb") as source:
        return dict(tomllib.load(source))


@cache
def _patterns(language: str) -> list[tuple[re.Pattern[str], str]]:
    found = []
    for english, other in sentences_of(language).items():
        if "{" in english:
            pattern = re.sub(r"\\\{(\d)\\\}", r"(?P<v\1>.+?)", re.escape(english))
            found.append((re.compile(pattern), other))
    return found


@lru_cache(maxsize=4096)
def sentence(english: str, language: str) -> str:
    """The sentence in a language; as it is, where it is not known there.

    Several sentences, or phrases between semicolons or commas, are taken one by one where each is known.
    """
    known = sentences_of(language).get(english)
    if known is not None or not sentences_of(language):
        return known or english
    between = (". ",) if english.endswith((".", ")")) else ("; ", ", ")
    for mark in between:
        if taken_apart := _taken_apart(english, mark, language):
            return taken_apart
    for pattern, other in _patterns(language):
        match = pattern.fullmatch(english)
        if match is not None:
            for name, value in match.groupdict().items():
                other = other.replace(f"{{{name[1:]}}}", sentence(value, language))
            return other
    return english


def _taken_apart(english: str, mark: str, language: str) -> str:
    """The parts before and after one of the marks, where both are known; else nothing."""
    for found in re.finditer(re.escape(mark), english):
        at = found.start() + len(mark) - 1  # a full stop stays with its sentence, the space goes
        first, rest = english[:at], english[at + 1 :]
        kept = "" if mark == ". " else mark[0]
        first_said = sentence(first.removesuffix(kept) if kept else first, language)
        rest_said = sentence(rest, language)
        if first_said != first.removesuffix(kept) and rest_said != rest:
            return f"{first_said}{kept} {rest_said}"
    return ""
