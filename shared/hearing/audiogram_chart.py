"""The audiogram's chart as data: where a threshold lies, and the published symbols as strokes.

Only geometry and symbol data may live here; whoever draws (screen, paper) scales it. The rule: frequency runs
logarithmically to the right, hearing level linearly downwards, and 20 dB are as long as one octave (ASHA
Guidelines for Audiometric Symbols 1990, read on a research data-element page). Symbols second-hand, colours
from memory; a colour never stands alone: the shape, the line and the printed name say the ear too.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import cos, log2, pi, sin

from shared.hearing.examination import Reading

LOWEST_HZ, HIGHEST_HZ = 125, 8000
LOUDEST, SOFTEST = 120, -10  # dB HL at the chart's foot and head
DB_PER_OCTAVE = 20
#: Frequencies with a full line; the between-octaves get a broken one.
OCTAVES = (125, 250, 500, 1000, 2000, 4000, 8000)
BETWEEN_OCTAVES = (750, 1500, 3000, 6000)

Point = tuple[float, float]
Stroke = tuple[Point, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """Where things lie, in octaves: x from 0 to ``width``, y downwards from 0 to ``height``."""

    lowest_hz: int = LOWEST_HZ
    highest_hz: int = HIGHEST_HZ
    softest: int = SOFTEST
    loudest: int = LOUDEST

    @property
    def width(self) -> float:
        """Octaves from the lowest to the highest frequency."""
        return self.x(self.highest_hz)

    @property
    def height(self) -> float:
        """The level range in units of one octave's length."""
        return self.y(self.loudest)

    def x(self, hz: float) -> float:
        """Octaves to the right of the lowest frequency."""
        return log2(hz / self.lowest_hz)

    def y(self, level_db_hl: float) -> float:
        """Down from the softest level, in units of one octave's length."""
        return (level_db_hl - self.softest) / DB_PER_OCTAVE

    def place(self, hz: float, level_db_hl: float) -> Point:
        """Where a threshold's symbol has its centre."""
        return self.x(hz), self.y(level_db_hl)


def _circle(corners: int = 32) -> Stroke:
    turns = (2 * pi * corner / corners for corner in range(corners + 1))
    return tuple((0.5 * sin(turn), 0.5 * cos(turn)) for turn in turns)


@dataclass(frozen=True, slots=True)
class Symbol:
    """One published symbol. ``strokes`` in a square from -0.5 to 0.5, x to the right, y downwards."""

    ear: str
    conduction: str  # "air" or "bone"
    masked: bool
    name: str
    colour: str  # the trade's colour of the ear, a word: the theme chooses the shade
    strokes: tuple[Stroke, ...]


def _red(conduction: str, masked: bool, name: str, *strokes: Stroke) -> Symbol:
    return Symbol("right", conduction, masked, name, "red", strokes)


def _blue(conduction: str, masked: bool, name: str, *strokes: Stroke) -> Symbol:
    return Symbol("left", conduction, masked, name, "blue", strokes)


SYMBOLS: tuple[Symbol, ...] = (
    _red("air", False, "O", _circle()),
    _red("air", True, "triangle", ((0.0, -0.5), (0.5, 0.5), (-0.5, 0.5), (0.0, -0.5))),
    _red("bone", False, "<", ((0.25, -0.5), (-0.25, 0.0), (0.25, 0.5))),
    _red("bone", True, "[", ((0.25, -0.5), (-0.1, -0.5), (-0.1, 0.5), (0.25, 0.5))),
    _blue("air", False, "X", ((-0.5, -0.5), (0.5, 0.5)), ((0.5, -0.5), (-0.5, 0.5))),
    _blue("air", True, "square", ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5), (-0.5, -0.5))),
    _blue("bone", False, ">", ((-0.25, -0.5), (0.25, 0.0), (-0.25, 0.5))),
    _blue("bone", True, "]", ((-0.25, -0.5), (0.1, -0.5), (0.1, 0.5), (-0.25, 0.5))),
)


def symbol(ear: str, conduction: str = "air", *, masked: bool = False) -> Symbol:
    """The symbol of an ear and a way of testing."""
    return next(s for s in SYMBOLS if (s.ear, s.conduction, s.masked) == (ear, conduction, masked))


#: No response: an arrow from the symbol's lower outer corner, down-left for the right ear, down-right for the
#: left, drawn at the highest level given and not joined to the line (from memory).
_ARROW = {
    "right": (((-0.5, 0.5), (-1.0, 1.0)), ((-0.65, 1.0), (-1.0, 1.0), (-1.0, 0.65))),
    "left": (((0.5, 0.5), (1.0, 1.0)), ((0.65, 1.0), (1.0, 1.0), (1.0, 0.65))),
}


def no_response_arrow(ear: str) -> tuple[Stroke, ...]:
    """The strokes to add to a symbol where the child did not respond at the limit."""
    return _ARROW[ear]


#: How the air symbols of an ear are joined: the right solid, the left dashed (from memory).
LINE = {"right": "solid", "left": "dashed"}


#: How far a bone symbol's centre lies beside the frequency's line, in symbol sizes: the right ear's on its left, the
#: left ear's on its right, so that both can be read beside the air symbols (from memory).
BONE_ASIDE = {"right": -0.9, "left": 0.9}


@dataclass(frozen=True, slots=True)
class Mark:
    """One symbol to draw: its centre in chart units, how far aside of it (in symbol sizes), and the arrow or not."""

    at: Point
    symbol: Symbol
    no_response: bool
    hz: int
    level_db_hl: int

    @property
    def aside(self) -> float:
        """How far the symbol lies beside the frequency's line, in symbol sizes."""
        return BONE_ASIDE[self.symbol.ear] if self.symbol.conduction == "bone" else 0.0

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """Everything to draw about the symbol's centre, the arrow at its outer edge included."""
        if not self.no_response:
            return self.symbol.strokes
        across = [x for stroke in self.symbol.strokes for x, _ in stroke]
        shift = max(across) - 0.5 if self.symbol.ear == "left" else min(across) + 0.5
        arrow = no_response_arrow(self.symbol.ear)
        return (*self.symbol.strokes, *(tuple((x + shift, y) for x, y in stroke) for stroke in arrow))


def marks(chart: Chart, readings: Iterable[Reading]) -> tuple[Mark, ...]:
    """The marks of readings, low to high; one without response lies at the highest level given."""
    return tuple(
        Mark(
            chart.place(each.hz, each.level_db_hl),
            symbol(each.ear, each.conduction, masked=each.masked),
            each.no_response,
            each.hz,
            each.level_db_hl,
        )
        for each in sorted(readings, key=lambda each: each.hz)
    )


def joined(of_ear: tuple[Mark, ...]) -> tuple[tuple[Point, ...], ...]:
    """The lines between one ear's air marks: neighbours are joined, a mark without response breaks the line."""
    lines: list[tuple[Point, ...]] = []
    run: list[Point] = []
    for mark in (*of_ear, None):
        if mark is not None and not mark.no_response:
            run.append(mark.at)
            continue
        if len(run) > 1:
            lines.append(tuple(run))
        run = []
    return tuple(lines)
