"""Draws the audiogram on a sheet: the published chart and symbols at paper size, with its key.

What lies where, and the symbols' strokes, come from ``shared.hearing.audiogram_chart``; only scaling, ink and labels
may live here. Readable in black and white: an ear is told by symbol, line and word before its colour.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import partial
from typing import Any

from fieldapp.papers import typeface
from fieldapp.papers.sheet import SOFT, Sheet
from shared.hearing.audiogram_chart import BETWEEN_OCTAVES, LINE, OCTAVES, Chart, Mark, joined, marks
from shared.hearing.examination import CONDUCTIONS, Reading
from shared.hearing.fields import EARS

OCTAVE = 38.0  # points: one octave across, 20 dB down
SYMBOL = 8.5
# The trade's colours, dark enough to stay apart from the grid in black and white.
COLOURS = {"red": (0.702, 0.149, 0.118), "blue": (0.122, 0.306, 0.549)}
LABEL_ROOM = 40.0  # left of the chart
HEAD_ROOM = 30.0  # above it
_DASHES: Mapping[str, list[float]] = {"solid": [], "dashed": [4, 2.5]}
CHART = Chart()
WIDTH = LABEL_ROOM + CHART.width * OCTAVE + 12
HEIGHT = HEAD_ROOM + CHART.height * OCTAVE + 42


def draw_audiogram(sheet: Sheet, readings: Iterable[Reading], x: float, top: float) -> float:
    """The audiogram of these readings; ``x`` and ``top`` are the upper left corner of everything, labels included.

    Gives the ``y`` of its foot, the key included.
    """
    left, head = x + LABEL_ROOM, top - HEAD_ROOM
    _labels(sheet, x, left, top, head)
    readings = tuple(readings)
    sheet.draw(lambda canvas: _chart(canvas, left, head))
    for ear in EARS:
        for conduction in CONDUCTIONS:
            own = marks(CHART, (r for r in readings if (r.ear, r.conduction) == (ear, conduction)))
            if own:
                sheet.draw(partial(_ear, own=own, left=left, head=head))
    return _key(sheet, readings, left, head - CHART.height * OCTAVE - 14)


def _labels(sheet: Sheet, x: float, left: float, top: float, head: float) -> None:
    say = sheet.words
    middle = left + CHART.width * OCTAVE / 2
    sheet.text(middle, top - 8, say("audiogram_frequency"), 8, align="middle", grey=SOFT)
    for hz in OCTAVES:
        sheet.text(left + CHART.x(hz) * OCTAVE, head + 6, str(hz), 8, align="middle")
    for level in range(CHART.softest, CHART.loudest + 1, 10):
        sheet.text(left - 5, head - CHART.y(level) * OCTAVE - 2.8, str(level), 8, align="right")
    centre = head - CHART.height * OCTAVE / 2
    sheet.draw(lambda canvas: _upright(canvas, x + 8, centre, say("audiogram_level")))


def _upright(canvas: Any, x: float, y: float, text: str) -> None:
    canvas.saveState()
    canvas.translate(x, y)
    canvas.rotate(90)
    canvas.setFillGray(SOFT)
    typeface.draw(canvas, -typeface.width(text, 8) / 2, 0, text, 8)
    canvas.restoreState()


def _chart(canvas: Any, left: float, head: float) -> None:
    """The grid: full lines at octaves and every 20 dB, fine ones at every 10, broken ones between octaves."""
    wide, high = CHART.width * OCTAVE, CHART.height * OCTAVE
    canvas.setLineCap(0)
    for hz in (*OCTAVES, *BETWEEN_OCTAVES):
        between = hz in BETWEEN_OCTAVES
        canvas.setStrokeGray(0.8 if between else 0.62)
        canvas.setLineWidth(0.4 if between else 0.6)
        canvas.setDash([1.5, 2] if between else [])
        x = left + CHART.x(hz) * OCTAVE
        canvas.line(x, head, x, head - high)
    canvas.setDash([])
    for level in range(CHART.softest, CHART.loudest + 1, 10):
        canvas.setStrokeGray(0.35 if level == 0 else 0.62 if level % 20 == 0 else 0.8)
        canvas.setLineWidth(0.9 if level == 0 else 0.6 if level % 20 == 0 else 0.4)
        y = head - CHART.y(level) * OCTAVE
        canvas.line(left, y, left + wide, y)
    canvas.setStrokeGray(0.35)
    canvas.setLineWidth(0.8)
    canvas.rect(left, head - high, wide, high, stroke=1, fill=0)


def _ear(canvas: Any, own: tuple[Mark, ...], left: float, head: float) -> None:
    """One ear's symbols by one conduction, clear of the grid behind them; air symbols are joined by a line."""
    shape = own[0].symbol
    for line in joined(own) if shape.conduction == "air" else ():
        canvas.setDash(_DASHES[LINE[shape.ear]])
        canvas.setLineWidth(1.1)
        canvas.setStrokeColorRGB(*COLOURS[shape.colour])
        path = canvas.beginPath()
        for index, (x, y) in enumerate(line):
            (path.lineTo if index else path.moveTo)(left + x * OCTAVE, head - y * OCTAVE)
        canvas.drawPath(path)
    canvas.setDash([])
    for mark in own:
        _symbol(canvas, mark, left + mark.at[0] * OCTAVE + mark.aside * SYMBOL, head - mark.at[1] * OCTAVE)


def _symbol(canvas: Any, mark: Mark, x: float, y: float) -> None:
    canvas.setLineWidth(1.3)
    canvas.setStrokeColorRGB(*COLOURS[mark.symbol.colour])
    if mark.symbol.name == "O":  # the line ends at the circle, not in it
        canvas.setFillGray(1)
        canvas.circle(x, y, SYMBOL / 2, stroke=0, fill=1)
    for stroke in mark.strokes:
        path = canvas.beginPath()
        for index, (across, down) in enumerate(stroke):
            (path.lineTo if index else path.moveTo)(x + across * SYMBOL, y - down * SYMBOL)
        canvas.drawPath(path)


def _key(sheet: Sheet, readings: tuple[Reading, ...], left: float, y: float) -> float:
    """What the symbols mean, in words, each beside its symbol: those of this audiogram, and always the air ones."""
    say, most = sheet.words, left + CHART.width * OCTAVE + 12
    used = {(each.ear, each.conduction, each.masked) for each in readings}
    for ear in EARS:
        x = left
        for (conduction, masked), key in _KINDS.items():
            if (ear, conduction, masked) not in used and (conduction, masked) != ("air", False):
                continue
            words = say(f"audiogram_{ear}" if key == "" else key)
            wide = 13 + typeface.width(words, 7.5)
            if x > left and x + wide > most:
                x, y = left + 13, y - 11
            (mark,) = marks(CHART, [Reading(ear, conduction, 1000, 0, masked)])
            sheet.draw(partial(_symbol, mark=mark, x=x + 4, y=y + 2.8))
            sheet.text(x + 13, y, words, 7.5)
            x += wide + 11
        y -= 11
    sheet.text(left, y, say("audiogram_arrow"), 7.5, grey=SOFT)
    return y - 6


#: How a symbol is named in the key; the first by its ear.
_KINDS = {
    ("air", False): "",
    ("air", True): "audiogram_air_masked",
    ("bone", False): "audiogram_bone",
    ("bone", True): "audiogram_bone_masked",
}
