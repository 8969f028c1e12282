"""Thresholds on paper: the school's own test and an examiner's audiogram, each with its chart and its figures.

Only layout and words may live here; the figures come from ``shared.hearing.audiogram``. Of an examiner's thresholds
the paper says what arithmetic and a named published scale give, and leaves the reading of them to the audiologist.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fieldapp.papers import typeface
from fieldapp.papers.audiogram import HEIGHT, WIDTH, draw_audiogram
from fieldapp.papers.findings import facts
from fieldapp.papers.sheet import INK, SOFT, Sheet
from fieldapp.papers.wording import Words
from shared.hearing.audiogram import Average, DegreeRead, Figures, figures
from shared.hearing.examination import Reading
from shared.hearing.fields import EARS
from shared.records.standing import ExaminationNoted, ThresholdTest

ROW = 13.0
SIZE = 8.5


def draw_thresholds(sheet: Sheet, test: ThresholdTest) -> None:
    """The school's own threshold test: the audiogram, the figures beside it, the averages, and what they are not."""
    say = sheet.words
    by = f"{say.short_date(test.begun_at)} · {sheet.context.tablet(test.device)} · {test.author}"
    worked = figures(test.readings)
    _chart_and_table(sheet, test.readings, [by], worked, say("record_thresholds"))
    if test.disagreed:
        tones = "; ".join(f"{say(f'ear_{ear}')} {hz} Hz" for ear, hz in test.disagreed)
        sheet.paragraph(say("not_reliable", tones=tones), 9, bold=True)
    if crossed := _crossed(say, worked):
        sheet.paragraph(say("cross_heard", tones=crossed), 8, bold=True)
    sheet.paragraph(say("handover"), 8, grey=SOFT)


def draw_examination(sheet: Sheet, noted: ExaminationNoted, own: ThresholdTest | None) -> None:
    """An examiner's audiogram with what its numbers come to, the source of each scale, and what they are not.

    ``own`` is the school's last threshold test: its levels stand beside the examiner's.
    """
    say, found = sheet.words, noted.examination
    worked = figures(found.readings, found.earphones)
    heads = [say("exam_on", day=say.long_date(found.examined))]
    heads += [found.examiner] if found.examiner else []
    heads += [say("exam_entered", day=say.short_date(noted.at), by=noted.author)]
    _chart_and_table(sheet, found.readings, heads, worked, say("record_examination"))
    sheet.y -= 4
    sheet.paragraph(say("exam_worked_out"), 9, bold=True)
    facts(sheet, _worked_out(say, worked))
    facts(
        sheet,
        [
            (say("exam_school"), _in_a_line(say, own) if own else ""),
            (say("exam_earphones"), say(f"earphones.{found.earphones}") if found.earphones else ""),
            (say("fact_note"), found.note),
        ],
    )
    sheet.y -= 5
    sheet.paragraph(say("exam_handover"), 8, grey=SOFT)
    sheet.paragraph(say("exam_sources"), 7.5, grey=SOFT)


def _worked_out(say: Words, worked: Figures) -> list[tuple[str, str]]:
    """The degrees by each scale, the gaps, and which thresholds the other ear may have heard."""
    clark = [f"{say(f'ear_{ear}')}: {_degree(say, worked.ears[ear].clark)}" for ear in EARS]
    gaps = [
        f"{say(f'ear_{ear}')} {', '.join(f'{hz} Hz: {gap} dB' for hz, gap in worked.ears[ear].gaps.items())}"
        for ear in EARS
        if worked.ears[ear].gaps
    ]
    crossed = _crossed(say, worked)
    return [
        (say("exam_clark"), "; ".join(clark)),
        (say("exam_who"), _degree(say, worked.who)),
        (say("exam_gaps"), "; ".join(gaps)),
        (say("exam_caution"), say("cross_heard", tones=crossed) if crossed else ""),
    ]


def _in_a_line(say: Words, test: ThresholdTest) -> str:
    """The school's own thresholds: "Oct 20, 2026, air: right ear 500 Hz 25, 1000 Hz 30; left ear ..."."""
    by_ear = {ear: [each for each in test.readings if each.ear == ear] for ear in EARS}
    told = [
        f"{say(f'ear_{ear}')} " + ", ".join(f"{each.hz} Hz {_level(say, each)}" for each in found)
        for ear, found in by_ear.items()
        if found
    ]
    return f"{say.short_date(test.begun_at)}, {say('air')}: {'; '.join(told)}"


def _degree(say: Words, read: DegreeRead) -> str:
    if read.level is None:
        return say("no_degree")
    return say("degree_read", word=say(f"degree.{read.word.replace(' ', '-')}"), level=f"{read.level:.1f}")


def _crossed(say: Words, worked: Figures) -> str:
    """The unmasked thresholds that the other ear may have heard: "left ear, air: 1000, 2000 Hz"."""
    found = [
        (ear, conduction, tones)
        for ear in EARS
        for conduction, tones in (
            ("air", worked.ears[ear].air_crossed),
            ("bone", worked.ears[ear].bone_crossed),
        )
        if tones
    ]
    return "; ".join(
        f"{say(f'ear_{ear}')}, {say(conduction)}: {', '.join(map(str, tones))} Hz"
        for ear, conduction, tones in found
    )


def _chart_and_table(
    sheet: Sheet, readings: Sequence[Reading], heads: Sequence[str], worked: Figures, title: str
) -> None:
    """The audiogram on the left, its thresholds and averages in figures on the right."""
    if sheet.y - HEIGHT - 20 < sheet.bottom:
        sheet.new_page()
    top = sheet.y - 8
    with sheet.element("Figure", alt=_told(sheet.words, title, readings)):
        foot = draw_audiogram(sheet, readings, sheet.left, top)
    x, y = sheet.left + WIDTH + 14, top - 8
    for index, line in enumerate(
        part for head in heads for part in typeface.wrap(head, sheet.right - x, SIZE)
    ):
        sheet.text(x, y - index * 11, line, SIZE)
        below = y - index * 11
    y = _table(sheet, readings, x, below - 18)
    for key, averages in (
        ("average3", {ear: worked.ears[ear].three for ear in EARS}),
        ("average4", {ear: worked.ears[ear].four for ear in EARS}),
    ):
        y -= 16
        sheet.text(x, y, sheet.words(key), 8, bold=True)
        for ear, mean in averages.items():
            y -= 11
            sheet.text(x, y, f"{sheet.words(ear)}: {_mean(sheet.words, mean)}", SIZE, grey=INK)
    sheet.y = min(foot, y - 8)


def _table(sheet: Sheet, readings: Iterable[Reading], x: float, y: float) -> float:
    """Every frequency with both ears' thresholds; bone conduction only where there is any. Gives the foot's ``y``."""
    say = sheet.words
    found = {(each.ear, each.conduction, each.hz): each for each in readings}
    ways = ["air"] + (["bone"] if any(way == "bone" for _ear, way, _hz in found) else [])
    columns = [(ear, way) for ear in EARS for way in ways]
    across = 60.0 if len(ways) == 1 else (sheet.right - x - 26) / 4
    stops = [x + 26 + across * (place + 1) for place in range(len(columns))]
    if len(ways) == 1:
        titles = [say(ear) for ear, _way in columns]
    else:
        titles = [say(way) for _ear, way in columns]
        for ear, stop in zip(EARS, stops[1::2], strict=True):
            sheet.text(stop, y, say(ear), SIZE, bold=True, align="right", grey=SOFT)
            sheet.line(stop - 2 * across + 14, y - 3, stop, y - 3, grey=SOFT, width=0.4)
        y -= 11
    for stop, title in zip([x + 26, *stops], [say("hz"), *titles], strict=True):
        sheet.text(stop, y, title, SIZE, bold=True, align="right", grey=SOFT)
    sheet.line(x, y - 4, stops[-1], y - 4, grey=SOFT, width=0.7)
    for hz in sorted({hz for _ear, _way, hz in found}):
        y -= ROW
        with sheet.element("P"):
            sheet.text(x + 26, y, str(hz), SIZE, align="right")
            for stop, (ear, way) in zip(stops, columns, strict=True):
                sheet.text(stop, y, _level(say, found.get((ear, way, hz))), SIZE, align="right")
        sheet.line(x, y - 3.6, stops[-1], y - 3.6, width=0.3)
    y -= 1.5
    masked = any(each.masked for each in found.values())
    for key in ("levels_in", *(("masked_in",) if masked else ())):
        y -= 12
        sheet.text(x, y, say(key), 7.5, grey=SOFT)
    return y


def _level(say: Words, reading: Reading | None) -> str:
    """A threshold as printed: dB HL, ">100 NR" for no response, a dash where it was not tested; M for masked."""
    if reading is None:
        return "—"
    level = (
        f">{reading.level_db_hl} {say('no_response')}" if reading.no_response else str(reading.level_db_hl)
    )
    return f"{level} {say('masked_sign')}" if reading.masked else level


def _mean(say: Words, mean: Average) -> str:
    return say("no_average") if mean.db_hl is None else f"{mean.db_hl:.1f} dB HL"


def _told(say: Words, title: str, readings: Iterable[Reading]) -> str:
    """The audiogram in words, for who cannot see it."""
    levels = (f"{say(r.ear)} {say(r.conduction)} {r.hz} Hz {_level(say, r)}" for r in readings)
    return f"{title}, dB HL: {'; '.join(levels)}"
