"""What a home language is called, in the language of a screen or a paper. No Kivy.

The names are in ``assets/translations/languages.toml``; how schools write them is read in ``roster/languages.py``.
"""

from __future__ import annotations

import tomllib
from functools import cache

import assets


@cache
def language_names(language: str) -> dict[str, str]:
    """Every known tag with its name in that language."""
    with assets.path("translations", "languages.toml").open("rb") as file:
        return dict(tomllib.load(file)[language])


def language_name(tag: str, language: str) -> str:
    """The name of the language of a BCP 47 tag; what is not known here as it was written."""
    return language_names(language).get(tag.partition("-")[0].casefold(), tag)
