"""What was found of one child, as drawn on its record and on a referral: facts, screenings, thresholds, audiogram."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from fieldapp.papers import typeface
from fieldapp.papers.audiogram import HEIGHT, WIDTH, draw_audiogram, thresholds_by_ear
from fieldapp.papers.context import PaperContext
from fieldapp.papers.sheet import INK, LINE, SOFT, Sheet
from fieldapp.papers.table import Column, Group, Table
from fieldapp.papers.wording import Words
from shared.hearing.audiogram import PTA3, PTA4_WHO, average
from shared.records.standing import Screening, Standing, ThresholdTest

HEARD, SILENT, NOT_GIVEN = "✓", "–", ""
LABEL = 128.0


def section(sheet: Sheet, title: str, room: float = 60) -> None:
    """A heading within a page; a new page where less than ``room`` is left below it."""
    if sheet.y - room < sheet.bottom:
        sheet.new_page()
    sheet.y -= 20
    with sheet.element("H2"):
        sheet.text(sheet.left, sheet.y, title, 11, bold=True)
    sheet.y -= 5
    sheet.line(sheet.left, sheet.y, sheet.right, sheet.y, grey=LINE)


def facts(sheet: Sheet, pairs: Sequence[tuple[str, str]]) -> None:
    """Labels and values, one below the other; what is not known is left out."""
    for label, value in pairs:
        if not value:
            continue
        with sheet.element("P"):
            for index, line in enumerate(typeface.wrap(value, sheet.right - sheet.left - LABEL, 9.5)):
                if sheet.y - 13 < sheet.bottom:
                    sheet.new_page()
                sheet.y -= 13
                if index == 0:
                    sheet.text(sheet.left, sheet.y, label, 9, grey=SOFT)
                sheet.text(sheet.left + LABEL, sheet.y, line, 9.5)


def person_facts(child: Standing, say: Words) -> list[tuple[str, str]]:
    """Who the child is."""
    person = child.person
    grade = say("grade_is", grade=person.grade) if person.grade else ""
    return [
        (say("fact_number"), person.student_number),
        (say("fact_born"), say.long_date(person.born)),
        (say("fact_class"), " · ".join(filter(None, (person.class_name, grade)))),
        (say("fact_guardian"), person.guardian),
        (say("fact_address"), ", ".join(person.address)),
        (say("fact_language"), person.language),
    ]


def draw_screenings(sheet: Sheet, child: Standing) -> None:
    """Every walk of every screening, tone by tone."""
    say, context = sheet.words, sheet.context
    tones = list(dict.fromkeys((a.ear, a.hz) for s in child.screenings for a in s.answers))
    tones.sort(key=lambda tone: (tone[0] == "left", tone[1]))
    columns = [Column(say("col_screened"), 2.3), Column(say("col_by"), 2.6), Column(say("col_level"), 1.1)]
    columns += [Column(f"{say(ear)} {hz}", 0.95, "middle") for ear, hz in tones]
    columns.append(Column(say("col_result"), 1.7))
    rows = [row for each in child.screenings for row in _walks(each, tones, say, context)]
    Table(sheet, columns).draw([Group("", rows)])
    sheet.paragraph(say("walk_key"), 7.5, grey=SOFT)


def _walks(
    screening: Screening, tones: Sequence[tuple[str, int]], say: Words, context: PaperContext
) -> list[list[str]]:
    rows: list[list[str]] = []
    walks = sorted({answer.walk for answer in screening.answers})
    for walk in walks:
        answers = {(a.ear, a.hz): a for a in screening.answers if a.walk == walk}
        levels = sorted({a.level_db_hl for a in answers.values()})
        last = walk == walks[-1]
        outcome = (
            "walk_unfinished"
            if screening.passed is None
            else "walk_pass"
            if screening.passed
            else "walk_missed"
        )
        rows.append(
            [
                say.short_date(screening.begun_at) if walk == walks[0] else "",
                f"{context.tablet(screening.device)} · {screening.author}"
                if walk == walks[0]
                else say("walked_again"),
                "/".join(map(str, levels)),
                *(
                    HEARD if (a := answers.get(tone)) and a.heard else SILENT if a else NOT_GIVEN
                    for tone in tones
                ),
                say(outcome) if last else say("walk_repeated"),
            ]
        )
    return rows


def draw_thresholds(sheet: Sheet, test: ThresholdTest) -> None:
    """One threshold test: the audiogram, the figures beside it, the averages, and what they are not."""
    if sheet.y - HEIGHT - 20 < sheet.bottom:
        sheet.new_page()
    top = sheet.y - 8
    with sheet.element("Figure", alt=_told(sheet, test)):
        draw_audiogram(sheet, test, sheet.left, top)
    _figures(sheet, test, sheet.left + WIDTH + 14, top - 8)
    sheet.y = top - HEIGHT
    sheet.paragraph(sheet.words("handover"), 8, grey=SOFT)


def _figures(sheet: Sheet, test: ThresholdTest, x: float, y: float) -> None:
    say, ears = sheet.words, thresholds_by_ear(test)
    limits = {(each.ear, each.hz): each.limit_db_hl for each in test.thresholds}
    stops = [x + 26, x + 86, x + 146]
    sheet.text(
        x, y, f"{say.short_date(test.begun_at)} · {sheet.context.tablet(test.device)} · {test.author}", 8.5
    )
    y -= 18
    titles = (say("hz"), say("right"), say("left"))
    for stop, title in zip(stops, titles, strict=True):
        sheet.text(stop, y, title, 8.5, bold=True, align="right", grey=SOFT)
    sheet.line(x, y - 4, stops[-1], y - 4, grey=SOFT, width=0.7)
    for hz in sorted({hz for levels in ears.values() for hz in levels}):
        y -= 15
        with sheet.element("P"):
            _row(sheet, hz, ears, limits, stops, y)
        sheet.line(x, y - 4, stops[-1], y - 4, width=0.3)
    y -= 14
    sheet.text(x, y, say("levels_in"), 7.5, grey=SOFT)
    for key, frequencies in (("average3", PTA3), ("average4", PTA4_WHO)):
        y -= 17
        sheet.text(x, y, say(key), 8, bold=True)
        for ear in ("right", "left"):
            mean = average(ears[ear], frequencies)
            words = f"{mean.db_hl:.1f} dB HL" if mean.db_hl is not None else say("no_average")
            y -= 12
            sheet.text(x, y, f"{say(ear)}: {words}", 8.5, grey=INK)


def level_words(say: Words, level: int | str | None, limit: int) -> str:
    """A threshold as printed: dB HL, ">100 NR" for no response, a dash where it was not tested."""
    return f">{limit} {say('no_response')}" if level is None else str(level) if level != "" else "—"


def _row(
    sheet: Sheet,
    hz: int,
    ears: Mapping[str, Mapping[int, int | None]],
    limits: Mapping[tuple[str, int], int],
    stops: Sequence[float],
    y: float,
) -> None:
    """One frequency: both ears' thresholds."""
    sheet.text(stops[0], y, str(hz), 9, align="right")
    for stop, ear in zip(stops[1:], ("right", "left"), strict=True):
        words = level_words(sheet.words, ears[ear].get(hz, ""), limits.get((ear, hz), 0))
        sheet.text(stop, y, words, 9, align="right")


def _told(sheet: Sheet, test: ThresholdTest) -> str:
    """The audiogram in words, for who cannot see it."""
    say = sheet.words
    levels = (
        f"{say(each.ear)} {each.hz} Hz {level_words(say, each.threshold_db_hl, each.limit_db_hl)}"
        for each in test.thresholds
    )
    return f"{say('record_thresholds')}, dB HL: {'; '.join(levels)}"
