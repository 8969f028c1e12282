"""What the stations did: the equipment and readiness log, and the report of the station watch."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

from fieldapp.papers.context import PaperContext, PaperMade, ReadinessRecord
from fieldapp.papers.findings import section
from fieldapp.papers.sheet import SOFT, Sheet
from fieldapp.papers.table import Column, Group, Table
from fieldapp.papers.wording import Words, words
from shared.records.entries import EARS
from shared.records.standing import Screening, Standing

_SHOWN = {"audiometer", "earphones", "calibrated", "listening", "not_clean", "own_thresholds"}
_SHOWN |= {"drop", "rule", "screener", "repeated", "carried_over_from"}
_KINDS = {"earphone_type": "earphones"}  # the table of words for the values of a fact


def print_readiness_log(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """Every readiness check of every station: equipment, calibration, listening check, own thresholds, outcome."""
    say = words(context.language)
    sheet = Sheet(path, context, title=say("log_title"), code="READY")
    sheet.new_page()
    sheet.heading(say("log_title"), say("log_intro"))
    columns = [
        Column(say("col_when"), 1.5),
        Column(say("col_equipment"), 2.0),
        Column(say("col_listening"), 1.9),
        Column(say("col_own"), 2.6),
        Column(say("col_outcome"), 4.0),
    ]
    stations: dict[str, list[ReadinessRecord]] = {}
    for record in sorted(context.readiness, key=lambda each: (each.tablet, each.at)):
        stations.setdefault(record.tablet, []).append(record)
    groups = [
        Group(
            say("station", tablet=tablet),
            [_check(record, say) for record in records],
            say("checks_one") if len(records) == 1 else say("checks_many", count=len(records)),
        )
        for tablet, records in stations.items()
    ]
    Table(sheet, columns, continued=say("continued")).draw(groups)
    if not groups:
        sheet.paragraph(say("no_checks"), bold=True)
    sheet.y -= 8
    sheet.paragraph(say("log_notes"), 8, grey=SOFT)
    return sheet.save()


def _check(record: ReadinessRecord, say: Words) -> list[str]:
    facts = record.facts
    equipment = [" · ".join(str(facts.get(name) or "—") for name in ("audiometer", "earphones"))]
    if facts.get("calibrated"):
        equipment.append(say("calibrated_on", day=say.short_date(str(facts["calibrated"]))))
    outcome = (
        say("ready_unknown") if record.passed is None else say("ready") if record.passed else say("not_ready")
    )
    if record.passed and record.level_db_hl is not None:
        outcome = say("ready_at", level=record.level_db_hl)
    dropped = facts.get("drop") or []
    if dropped:
        outcome += f"\n{say('left_out', tones=', '.join(map(str, dropped)))}"
    rule = str(facts.get("rule") or "")
    repeated = [say.done_again(step) for step in facts.get("repeated") or ()]
    short = say("log_repeated", steps=", ".join(repeated)) if repeated else ""
    judged = map(say.sentence, (*record.reasons, *record.warnings, rule))
    said = [outcome, short, *judged, *_further(facts, say)]
    return [
        f"{say.short_date(record.at)}\n{record.at[11:16]} · {record.screener}",
        "\n".join(equipment),
        "\n".join(
            filter(None, (_listening(facts.get("listening"), say), _not_clean(facts.get("not_clean"), say)))
        ),
        _own(facts.get("own_thresholds"), say),
        "\n".join(filter(None, said)),
    ]


def _listening(heard: Any, say: Words) -> str:
    """The tones heard clean: once where both ears are alike, else by ear."""
    if not isinstance(heard, Mapping) or not any(heard.values()):
        return "—"
    tones = {ear: ", ".join(str(hz) for hz in sorted(map(int, heard.get(ear) or ()))) for ear in EARS}
    if len(set(tones.values())) == 1:
        return f"{say('ears_both')}\n{tones['right']}"
    return "\n".join(f"{say(ear)} {tones[ear] or '—'}" for ear in EARS)


def _not_clean(heard: Any, say: Words) -> str:
    """The tones that were not clean, by ear; empty where none was said, as in older checks."""
    if not isinstance(heard, Mapping) or not any(heard.values()):
        return ""
    tones = [(ear, int(hz)) for ear in EARS for hz in heard.get(ear) or ()]
    return say("log_not_clean", tones=say.ears(tones))


def _own(found: Any, say: Words) -> str:
    """The screener's thresholds: the frequencies once, then the levels of each ear in the same order."""
    if not isinstance(found, Mapping) or not any(found.values()):
        return "—"
    levels = {ear: {int(hz): level for hz, level in (found.get(ear) or {}).items()} for ear in EARS}
    tones = sorted({hz for of_ear in levels.values() for hz in of_ear})
    lines = [say("at_tones", tones=", ".join(map(str, tones)))]
    lines += [f"{say(ear)} {', '.join(str(levels[ear].get(hz, '—')) for hz in tones)}" for ear in EARS]
    return "\n".join(lines)


def _further(facts: Mapping[str, Any], say: Words) -> list[str]:
    """The optional facts that were given (room, noise readings, inspection); one not known here as it was written."""
    return [
        f"{say.known(f'ready_fact.{name}', name.replace('_', ' '))}: {_noted(name, value, say)}"
        for name, value in facts.items()
        if name not in _SHOWN and value not in (None, "", [], {})
    ]


def _noted(name: str, value: Any, say: Words) -> str:
    """What was noted of one fact."""
    if isinstance(value, bool):
        return say("yes" if value else "no")
    if not isinstance(value, Mapping):
        return say.known(f"{_KINDS.get(name, name)}.{value}", str(value))
    if name == "same_ear":
        found = {
            ear: ", ".join(f"{hz} Hz {level}" for hz, level in by_hz.items()) for ear, by_hz in value.items()
        }
        return "; ".join(f"{say.known(ear, ear)} {levels}" for ear, levels in found.items())
    if name == "noise":
        return ", ".join(f"{hz} Hz {level}" for hz, level in value.items())
    said = {True: say("in_order"), False: say("not_in_order")}
    return ", ".join(
        f"{say.known(f'ready_item.{item}', item)} {said.get(found, found)}" for item, found in value.items()
    )


def print_station_watch(path: Path, standings: Sequence[Standing], context: PaperContext) -> PaperMade:
    """How often each station's children missed each tone on the first walk, and when the watch asked for a check."""
    say = words(context.language)
    sheet = Sheet(path, context, title=say("watch_title"), code="WATCH")
    sheet.new_page()
    sheet.heading(say("watch_title"), say("watch_intro"))
    by_station = _first_walks(standings)
    tones = sorted({tone for walks in by_station.values() for tone in _tones(walks)}, key=_tone_order)
    section(sheet, say("watch_shares"), room=120)
    columns = [Column(say("col_tablet"), 2.2, bold=True), Column(say("col_children"), 1.2, "right")]
    columns += [Column(say("col_no_pass"), 1.5, "right")]
    columns += [Column(f"{say(ear)} {hz}", 1.3, "right") for ear, hz in tones]
    rows = [
        _shares(context.tablet(device), walks, tones)
        for device, walks in sorted(by_station.items(), key=lambda pair: context.tablet(pair[0]))
    ]
    if rows:
        rows.append(_shares(say("all_stations"), [w for walks in by_station.values() for w in walks], tones))
        Table(sheet, columns).draw([Group("", rows)])
    else:
        sheet.paragraph(say("no_screening"), grey=SOFT)
    section(sheet, say("watch_raised"), room=80)
    raised = [
        [
            f"{say.short_date(each.at)} {each.at[11:16]}",
            each.tablet,
            " ".join(filter(None, (say(each.ear) if each.ear else "", f"{each.hz} Hz" if each.hz else ""))),
            say.sentence(each.what),
        ]
        for each in sorted(context.watches, key=lambda each: (each.at, each.tablet))
    ]
    titles = (("col_when", 1.8), ("col_tablet", 1.6), ("col_tone", 2.0), ("col_noticed", 5.0))
    if raised:
        Table(sheet, [Column(say(key), share) for key, share in titles]).draw([Group("", raised)])
    else:
        sheet.y -= 2
        sheet.paragraph(say("watch_none"))
    sheet.y -= 8
    sheet.paragraph(say("watch_notes"), 8, grey=SOFT)
    return sheet.save()


def _first_walks(standings: Iterable[Standing]) -> dict[str, list[Screening]]:
    """The screenings that each device is compared by."""
    found: dict[str, list[Screening]] = {}
    for child in standings:
        for each in child.first_results:
            found.setdefault(each.device, []).append(each)
    return found


def _tones(walks: Iterable[Screening]) -> set[tuple[str, int]]:
    return {(answer.ear, answer.hz) for walk in walks for answer in walk.answers}


def _tone_order(tone: tuple[str, int]) -> tuple[bool, int]:
    return (tone[0] == "left", tone[1])


def _shares(name: str, walks: Sequence[Screening], tones: Sequence[tuple[str, int]]) -> list[str]:
    given: Counter[tuple[str, int]] = Counter()
    missed: Counter[tuple[str, int]] = Counter()
    for walk in walks:
        for answer in walk.answers:
            if answer.walk == 1:
                given[answer.ear, answer.hz] += 1
                missed[answer.ear, answer.hz] += not answer.heard
    not_passed = sum(not walk.passed for walk in walks)
    return [
        name,
        str(len(walks)),
        f"{not_passed} ({_percent(not_passed, len(walks))})",
        *(_percent(missed[tone], given[tone]) for tone in tones),
    ]


def _percent(part: int, whole: int) -> str:
    return f"{100 * part / whole:.0f} %" if whole else "—"
