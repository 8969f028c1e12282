"""Turns records into words for the screen: dates, times, names, ages, where a child stands. No Kivy."""

from __future__ import annotations

from datetime import date, datetime

from fieldapp.screens.translation import Translator
from fieldapp.services.roll import found_as
from shared.records.standing import Person, Standing, Status

SIGNS = {
    Status.NOT_SEEN: "",
    Status.PASSED: "✓ ",
    Status.RESCREEN: "◇ ",
    Status.THRESHOLD: "◇ ",
    Status.REFERRED: "◆ ",
    Status.CLOSED: "✓ ",
}


def sign(status: Status) -> str:
    """The sign before a status, so that it is not told by its word alone."""
    return SIGNS.get(status, "– ")


def short_date(t: Translator, iso: str) -> str:
    """``14 Mar 2018``; empty for no date."""
    try:
        day = date.fromisoformat(iso[:10])
    except ValueError:
        return ""
    return f"{day.day} {t(f'month.{day.month}')} {day.year}"


def near_date(t: Translator, iso: str, today: date) -> str:
    """``14 Mar``, with the year only where it is not this one."""
    said = short_date(t, iso)
    return said.removesuffix(f" {today.year}")


def key_name(t: Translator, key: str) -> str:
    """A key as it is called on keyboards of the language; a letter or a function key as it is engraved."""
    return t(f"key.{key}") if t.has(f"key.{key}") else key.upper()


def clock_time(t: Translator, moment: str | datetime | None) -> str:
    """``1:50 pm`` in English, ``13:50`` in Spanish; empty for no time."""
    if isinstance(moment, str):
        try:
            moment = datetime.fromisoformat(moment)
        except ValueError:
            return ""
    if moment is None:
        return ""
    if t.language == "en":
        half = "am" if moment.hour < 12 else "pm"
        return f"{moment.hour % 12 or 12}:{moment.minute:02} {half}"
    return f"{moment.hour}:{moment.minute:02}"


def age(born: str, today: date) -> int | None:
    """Whole years, or None where the birth date is unknown or lies ahead."""
    try:
        day = date.fromisoformat(born)
    except ValueError:
        return None
    years = today.year - day.year - ((today.month, today.day) < (day.month, day.day))
    return years if years >= 0 else None


def name_listed(person: Person) -> str:
    """``Velloso, Amara``: family name first, as lists are sorted."""
    return ", ".join(part for part in (person.family, person.given) if part) or person.student_number


def name_found(standing: Standing, typed: str) -> str:
    """A child's name in a list that was searched: where another record's name was found, what that spells
    otherwise is in brackets behind."""
    other, person = found_as(standing, typed), standing.person
    if other is None:
        return name_listed(person)
    spelled = [
        part for part, shown in zip(other, (person.given, person.family), strict=True) if part != shown
    ]
    return f"{name_listed(person)} ({', '.join(reversed(spelled))})"


def name_said(person: Person) -> str:
    """``Amara Velloso``: as one calls the child."""
    return " ".join(part for part in (person.given, person.family) if part) or person.student_number


def about_child(t: Translator, standing: Standing, today: date) -> str:
    """``3B · 8 years · first screening``."""
    years = age(standing.person.born, today)
    finished = [s for s in standing.screenings if s.finished_at]
    parts = [
        standing.person.class_name,
        t("child.years", years=years) if years is not None else "",
        t("child.again") if finished else t("child.first"),
    ]
    return " · ".join(part for part in parts if part)


def hertz(t: Translator, tones: tuple[tuple[str, int], ...], ear_words: str = "") -> str:
    """``left 4000 Hz`` or ``right 1000, 2000 Hz; left 4000 Hz``; the ears by shorter words with ``_row_short``."""
    ears = {ear: [hz for where, hz in tones if where == ear] for ear in ("right", "left")}
    return "; ".join(
        f"{t(f'ear.{ear}{ear_words}')} {', '.join(str(hz) for hz in found)} Hz"
        for ear, found in ears.items()
        if found
    )


def status_line(t: Translator, standing: Standing) -> str:
    """Where a child stands, for its row in the list."""
    status = standing.status
    words = f"{sign(status)}{t(f'status.{status.value}')}"
    if status is Status.PASSED:
        time = clock_time(t, standing.since)
        return f"{words} · {time}" if time else words
    if status is Status.RESCREEN and standing.governing is not None and standing.governing.missed:
        return f"{words} · {hertz(t, standing.governing.missed, '_row_short')}"
    return words


def left(t: Translator, count: int) -> str:
    """How many children wait in a class, or that none does."""
    if not count:
        return t("today.done")
    return t.counted("today.left", count)


def pill(t: Translator, tablet: str, screener: str) -> str:
    """``Tablet C · MK``."""
    name = tablet if not tablet or len(tablet) > 3 else t("top.tablet", name=tablet)
    return " · ".join(part for part in (name, screener) if part)


def tablet(t: Translator, name: str) -> str:
    """``Tablet C``, whole on one line; a longer name stands for itself."""
    return t("top.tablet", name=name) if len(name) <= 3 else name
