"""The words of the interface, read from ``assets/translations``. A missing word is an error in a test, not a blank."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from fieldapp.sentences import sentence

FOLDER = Path(__file__).parent.parent.parent / "assets" / "translations"
LANGUAGES = ("en", "es")


@cache
def words_of(language: str) -> dict[str, str]:
    """All texts of a language, keys joined by dots."""
    with (FOLDER / f"{language}.toml").open("rb") as source:
        return dict(_flat(tomllib.load(source)))


def _flat(table: dict[str, Any], before: str = "") -> Any:
    for name, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, f"{before}{name}.")
        elif isinstance(value, str):
            yield f"{before}{name}", value


class Translator:
    """Called with a key and values: ``t("walk.level", level=20)``."""

    def __init__(self, language: str = "en") -> None:
        self.language = language if language in LANGUAGES else "en"

    def __call__(self, key: str, **values: Any) -> str:
        text = words_of(self.language).get(key)
        if text is None:
            text = words_of("en")[key]
        return text.format(**values) if values else text

    def counted(self, key: str, count: int, **values: Any) -> str:
        """A text with a number of things in it: for 1 the text ``KEY_one``, where there is one."""
        one = f"{key}_one"
        return self(one if count == 1 and self.has(one) else key, count=count, **values)

    def sentence(self, english: str) -> str:
        """A sentence that a rule or an error gave, in the language of the screen where it is known."""
        return sentence(english, self.language)

    def has(self, key: str) -> bool:
        """Whether there is such a text."""
        return key in words_of("en")
