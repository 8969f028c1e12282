"""A protocol in words for the screen: its title, the value of each field, and the marks. No Kivy.

Values have the forms of ``Protocol.to_dict``, so that a draft that makes no sense can be shown too.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from fieldapp.screens.translation import Translator
from shared.hearing.due import DUE_REASONS
from shared.hearing.protocol import Protocol
from shared.hearing.protocol_marks import by_mark


def title(t: Translator, protocol: Protocol) -> str:
    """What a protocol is called; a local copy says what it is a copy of."""
    first = protocol.copy_of
    if first is None or first.title in protocol.title:  # a copy that says so itself
        return t.sentence(protocol.title)
    return t("protocol.copy_title", title=protocol.title, of=t.sentence(first.title))


def field_name(t: Translator, field: str) -> str:
    """A field of the rule, as the screen calls it."""
    return t(f"protocol.field_{field}")


def mark_name(t: Translator, mark: str, own: bool = True) -> str:
    """A mark in words; without one, that there is none.

    What nobody here changed (not ``own``) was not set locally: where its source is silent, it is said just that.
    """
    if mark == "set locally" and not own:
        return t("prepare.mark_not-in-source")
    return t(f"prepare.mark_{mark.replace(' ', '-')}" if mark else "protocol.no_mark")


def fields_by_mark(t: Translator, protocol: Protocol) -> list[str]:
    """What a copy changed; then for each mark, best first, the fields that carry it: what can be trusted how far."""
    changed = protocol.copy_of.changed if protocol.copy_of else ()
    lines = [t("protocol.changed_here", fields=_names(t, changed))] if changed else []
    for mark, fields in by_mark(protocol).items():
        grouped: dict[str, list[str]] = {}
        for field in sorted(fields, key=lambda field: field not in changed):
            grouped.setdefault(mark_name(t, mark, own=field in changed), []).append(field)
        for name, found in grouped.items():
            lines.append(t("protocol.by_mark", mark=_capital(name), fields=_names(t, found)))
    return lines


def _names(t: Translator, fields: Iterable[str]) -> str:
    names = (field_name(t, field) for field in fields)
    return "; ".join(f"{name[:1].lower()}{name[1:]}" for name in names)


def value(t: Translator, data: Mapping[str, Any], field: str) -> str:
    """The value of a field in words."""
    said = data[field]
    if field in ("frequencies", "threshold_frequencies"):
        return _hertz(t, said)
    if field == "second_ear":
        order = data["frequencies"][::-1] if said == "back" else data["frequencies"]
        return t(f"protocol.second_{said}", order=", ".join(map(str, order)))
    if field == "levels":
        return "\n".join(_band(t, each, data["frequencies"]) for each in said)
    if field == "raised_level":
        return t("protocol.none") if said is None else t("protocol.level", level=said)
    if field in ("drop_500_if_noisy", "retest_same_session"):
        return t("protocol.yes" if said else "protocol.no")
    if field in ("presentations", "misses_to_fail"):
        return t(f"protocol.{field}", count=said)
    if field == "rescreen_days":
        return window(t, said)
    if field in ("after_first_fail", "after_second_fail"):
        return t(f"protocol.then_{said}")
    if field == "referral":
        return "\n".join(_rule(t, said)) if said else t("protocol.none")
    if field == "threshold_procedure":
        return t(f"protocol.way_{said}")
    if field == "threshold_limit":
        return t("protocol.level", level=said)
    if field == "grades_due":
        return grades(t, said) if said else t("protocol.every_grade")
    if field == "due_reasons":
        return ", ".join(t.sentence(DUE_REASONS.get(each, each)) for each in said) or t("protocol.none")
    if field == "exemptions":
        return "\n".join(exemption(t, each) for each in said) or t("protocol.none")
    return "\n".join(_could_not(t, each) for each in said) or t("protocol.none")


def window(t: Translator, days: list[int]) -> str:
    """A window of days after the failing screening."""
    if len(days) == 1:
        return t("protocol.days_open", first=days[0])
    return t("protocol.days", first=days[0], last=days[1])


def grades(t: Translator, names: Iterable[str]) -> str:
    """Grades as a list."""
    return ", ".join(names)


def reason_name(t: Translator, reason: str) -> str:
    """The reason of an exemption; one of a file's own as it stands there."""
    key = f"protocol.exempt_{reason}"
    return t(key) if t.has(key) else reason


def band_name(t: Translator, band: Mapping[str, Any], alone: bool) -> str:
    """Which grades a band of levels is for."""
    if band["grades"]:
        return t("protocol.band", grades=", ".join(band["grades"]))
    return t("protocol.band_all" if alone else "protocol.band_rest")


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _hertz(t: Translator, frequencies: Iterable[int]) -> str:
    found = ", ".join(map(str, frequencies))
    return f"{found} Hz" if found else t("protocol.none")


def _band(t: Translator, band: Mapping[str, Any], frequencies: Iterable[int]) -> str:
    levels = {hz: band["by_hz"].get(str(hz)) for hz in sorted(frequencies)}
    if not levels:
        return t("protocol.none")
    if len(set(levels.values())) == 1:
        words = t("protocol.level", level=next(iter(levels.values())))
    else:
        words = t("protocol.levels", levels=", ".join(f"{hz} Hz: {level}" for hz, level in levels.items()))
    return f"{band_name(t, band, False)}: {words}" if band["grades"] else words


def _rule(t: Translator, rule: Mapping[str, Any]) -> list[str]:
    lines = []
    if rule["count"]:
        each = ", ".join(f"{hz} Hz: {rule['lines'].get(str(hz), '?')}" for hz in rule["count_of"])
        lines.append(t("protocol.rule_count", count=rule["count"], lines=each))
    if rule["pairs"]:
        pairs = ", ".join(f"{low} + {high}" for low, high in rule["pairs"])
        named = dict.fromkeys(hz for pair in rule["pairs"] for hz in pair)
        each = ", ".join(f"{hz} Hz: {rule['lines'].get(str(hz), '?')}" for hz in named)
        lines.append(t("protocol.rule_pairs", pairs=pairs, lines=each))
    if rule["single_line"] is not None:
        lines.append(t("protocol.rule_single", level=rule["single_line"]))
    if rule["tests"] > 1:
        lines.append(t("protocol.rule_tests", tests=rule["tests"], days=rule["days_apart"]))
    return lines


def exemption(t: Translator, said: Mapping[str, Any]) -> str:
    """A reason not to screen, what is kept on file for it, and for how long that stands."""
    keep = t("protocol.keep", keep=t.sentence(said["keep"])) if said["keep"] else ""
    ends = t("protocol.months", months=said["months"]) if said["months"] else ""
    words = " ".join(filter(None, (t.sentence(said["words"]), keep, ends)))
    reason = reason_name(t, said["reason"])
    return words if words.casefold().startswith(reason.casefold()) else f"{reason}: {words}"


def _could_not(t: Translator, rule: Mapping[str, Any]) -> str:
    key = "protocol.could_not_school" if rule["school_days"] else "protocol.could_not"
    words = t(key, days=rule["within_days"], action=t.sentence(rule["action"]))
    return f"{t('protocol.from_age', age=rule['min_age'])} {words}" if rule["min_age"] else words
