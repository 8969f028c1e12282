"""The papers' fixed words in the office's language, dates and other small texts. No drawing.

The words are in ``assets/letters/papers.LANGUAGE.toml``, one key a phrase.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cache, lru_cache
from typing import Any

import assets
from fieldapp.languages import language_name
from fieldapp.sentences import sentence
from shared.hearing.protocol import plain_grade
from shared.records.standing import Person, Standing, Status

LANGUAGES = ("en", "es")
_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")


class Words:
    """The phrases of one language; ``words("key", name=value)`` fills one in."""

    def __init__(self, language: str, phrases: Mapping[str, str]) -> None:
        self.language = language
        self._phrases = phrases

    def __call__(self, key: str, /, **values: object) -> str:
        phrase = self._phrases[key]
        return phrase.format(**values) if values else phrase

    def ear_names(self, missed: Sequence[tuple[str, int]]) -> str:
        """The ears of the missed tones, as a letter names them: "right ear", "both ears"; empty for none."""
        ears = {ear for ear, _ in missed}
        return "" if not ears else self("ears_both") if len(ears) > 1 else self(f"ear_{ears.pop()}")

    def between(self, window: tuple[str, str] | None) -> str:
        """A due window as a letter says it: "between ... and ...", "from ... on"; empty for none."""
        if not window:
            return ""
        first, last = (self.long_date(day) for day in window)
        return self("between_days", first=first, last=last) if last else self("from_day_on", first=first)

    def known(self, key: str, written: str) -> str:
        """The phrase of a key; what has none as it was written."""
        return self._phrases.get(key, written)

    def status(self, standing: Standing) -> str:
        """Where a child stands, in words."""
        return self(f"status.{standing.status.value}")

    def sentence(self, english: str) -> str:
        """What a rule says in English, in this language where it is known, its days written as on the paper."""
        return _ISO_DAY.sub(lambda day: self.long_date(day[0]), sentence(english, self.language))

    def why(self, standing: Standing) -> str:
        """The rule that decided; of a closed case the last step."""
        return self.step(standing.why) if standing.status is Status.CLOSED else self.sentence(standing.why)

    def long_date(self, day: date | str) -> str:
        """A date as written in a letter: November 25, 2026; 25 de noviembre de 2026. Empty stays empty."""
        return _dated(day, self.language, short=False)

    def short_date(self, day: date | str) -> str:
        """A date as written in a table: Nov 25, 2026; 25 nov 2026. Empty stays empty."""
        return _dated(day, self.language, short=True)

    def days(self, days: Sequence[date]) -> str:
        """The days of a visit: one, or the first and the last."""
        if not days:
            return ""
        first, last = min(days), max(days)
        if first == last:
            return self.long_date(first)
        if (first.year, first.month) == (last.year, last.month):  # September 14–15, 2026
            return self.long_date(first).replace(f"{first.day}", f"{first.day}–{last.day}", 1)
        return f"{self.long_date(first)} – {self.long_date(last)}"

    def step(self, step: str) -> str:
        """A follow-up step in words; an unknown one as it was written."""
        return self._phrases.get(f"step.{step}", step)

    def done_again(self, step: str) -> str:
        """A step of the readiness check in words; an unknown one as it was written."""
        return self._phrases.get(f"ready_step.{step}", step)

    def signs(self, standing: Standing) -> str:
        """What was seen at the ears, with the ear where it was said: "drainage from the ear (left ear)"."""
        said = ", ".join(self._phrases.get(f"ear_sign.{sign}", sign) for sign in standing.signs)
        ears = ", ".join(self(f"ear_{ear}") for ear in standing.ears)
        return f"{said} ({ears})" if said and ears else said

    def language_name(self, tag: str) -> str:
        """A home language by its name; one that is not known here as the roster has it."""
        return language_name(tag, self.language)

    def window(self, window: tuple[str, str] | None) -> str:
        """A due window as two dates; the day alone where it starts and ends on one, "from" where it never ends."""
        if not window:
            return ""
        first, last = (self.short_date(day) for day in window)
        if not last:
            return self("from_day", day=first)
        return first if first == last else f"{first} – {last}"

    def ears(self, missed: Sequence[tuple[str, int]]) -> str:
        """Tones by ear: "right 1000, 4000; left 2000" (Hz), the ears in short."""
        by_ear = {ear: sorted(hz for each, hz in missed if each == ear) for ear in ("right", "left")}
        return "; ".join(
            f"{self(f'{ear}_short')} {', '.join(map(str, tones))}" for ear, tones in by_ear.items() if tones
        )


@cache
def words(language: str) -> Words:
    """The words of a language tag; of English where the papers do not speak it."""
    spoken = language_of(language)
    text = assets.path("letters", f"papers.{spoken}.toml").read_text(encoding="utf-8")
    return Words(spoken, dict(_phrases(tomllib.loads(text))))


def _phrases(table: Mapping[str, Any], within: str = "") -> Iterator[tuple[str, str]]:
    """A table's phrases by dotted key."""
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _phrases(value, f"{within}{key}.")
        else:
            yield f"{within}{key}", str(value)


def language_of(tag: str) -> str:
    """The papers' language for a BCP 47 tag or a language's name: "es-MX" and "Spanish" are "es"; else "en"."""
    tag = tag.strip().casefold().replace("_", "-")
    named = {"spanish": "es", "español": "es", "espanol": "es", "castellano": "es", "spa": "es"}
    spoken = named.get(tag, tag.partition("-")[0])
    return spoken if spoken in LANGUAGES else "en"


@lru_cache(maxsize=4096)
def _dated(day: date | str, language: str, *, short: bool) -> str:
    if isinstance(day, str):
        try:
            return _dated(date.fromisoformat(day[:10]), language, short=short)
        except ValueError:
            return day
    month = words(language)("months").split()[day.month - 1]
    if language == "es":
        return f"{day.day} {month[:3]} {day.year}" if short else f"{day.day} de {month} de {day.year}"
    return f"{month[:3] if short else month} {day.day}, {day.year}"


def listed_name(person: Person) -> str:
    """Family name first, for lists."""
    return ", ".join(part for part in (person.family, person.given) if part) or "—"


def full_name(person: Person) -> str:
    """Given name first, for letters."""
    return " ".join(part for part in (person.given, person.family) if part) or "—"


def grade_order(grade: str) -> tuple[int, str]:
    """Sorts grades as a school does: pre-kindergarten, kindergarten, 1 to 12, then anything else."""
    plain = plain_grade(grade)
    if plain in ("PK", "K"):
        return (("PK", "K").index(plain), "")
    return (1 + int(plain), "") if plain.isascii() and plain.isdigit() else (99, plain)


def class_order(standing: Standing) -> tuple[tuple[int, str], str]:
    """Sorts classes by grade and name; children without a class last within theirs."""
    return (grade_order(standing.person.grade), standing.person.class_name.casefold() or "\uffff")


def by_class(standings: Sequence[Standing]) -> list[tuple[str, str, list[Standing]]]:
    """(grade, class name, children by name) for every class, in a school's order."""
    classes: dict[tuple[str, str], list[Standing]] = {}
    for standing in sorted(standings, key=class_order):
        key = (plain_grade(standing.person.grade), standing.person.class_name)
        classes.setdefault(key, []).append(standing)
    return [
        (grade, name, sorted(children, key=lambda each: listed_name(each.person).casefold()))
        for (grade, name), children in classes.items()
    ]
