"""The audiogram on the screen: draws what ``shared.hearing.audiogram_chart`` lays out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from kivy.app import App
from kivy.core.text import Label as CoreLabel
from kivy.graphics import Color, Ellipse, Line, Rectangle, SmoothLine
from kivy.metrics import dp
from kivy.uix.widget import Widget

from fieldapp.widgets.fonts import SANS
from shared.hearing import audiogram_chart as charts
from shared.hearing.examination import CONDUCTIONS, Reading
from shared.hearing.fields import EARS

CHART = charts.Chart(lowest_hz=250, highest_hz=8000, softest=-10, loudest=120)
LABELLED_LEVELS = range(0, 121, 20)
UNITS = "→ Hz    ↓ dB HL"  # what runs which way


class Audiogram(Widget):
    """``show`` draws readings; the tone in hand, if any, is a filled dot at its level: no sign of an audiogram."""

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self._readings: tuple[Reading, ...] = ()
        self._hand: tuple[str, int, int] | None = None
        self.bind(pos=lambda *_: self._draw(), size=lambda *_: self._draw())

    def show(self, readings: Iterable[Reading], hand: tuple[str, int, int] | None = None) -> None:
        """Draw these readings and the (ear, Hz, level) in hand."""
        self._readings, self._hand = tuple(readings), hand
        self._draw()

    def _draw(self) -> None:
        look = App.get_running_app().look
        self.canvas.clear()
        if self.width < dp(80) or self.height < dp(80):
            return
        side, head, foot = look.small * 2.2, look.small * 1.7, look.small * 1.45
        across, down = self.width - side - dp(16), self.height - head - foot
        # 20 dB are as long as one octave, whatever the room there is.
        self._unit = min(across / CHART.width, down / CHART.height)
        self._left = self.x + side + (across - self._unit * CHART.width) / 2
        self._top = self.top - head
        with self.canvas:
            self._grid(look)
            for ear in EARS:
                for conduction in CONDUCTIONS:
                    self._ear(look, ear, conduction)
            if self._hand is not None:
                ear, hz, level = self._hand
                x, y = self._at(CHART.place(hz, level))
                Color(*look.ear(ear))
                half = dp(5)
                Ellipse(pos=(x - half, y - half), size=(half * 2, half * 2))

    def _at(self, point: tuple[float, float]) -> tuple[float, float]:
        return self._left + point[0] * self._unit, self._top - point[1] * self._unit

    def _grid(self, look: Any) -> None:
        right, foot = self._at((CHART.width, CHART.height))
        close = self._unit < look.small * 1.9  # too close for every label
        for hz in (250, 500, 1000, 2000, 4000, 8000):
            x, top = self._at(CHART.place(hz, CHART.softest))
            Color(*look.line)
            SmoothLine(points=(x, top, x, foot), width=dp(0.8))
            if close and hz in (500, 2000, 8000):
                continue
            self._words(look, f"{hz // 1000}k" if hz >= 1000 else str(hz), x, self._top + look.small * 0.85)
        for level in LABELLED_LEVELS:
            left, y = self._at(CHART.place(CHART.lowest_hz, level))
            Color(*(look.edge if level == 0 else look.line))
            SmoothLine(points=(left, y, right, y), width=dp(0.8))
            if close and level % 40:
                continue
            self._words(look, str(level), left - look.small * 1.15, y)
        self._words(look, UNITS, (self._left + right) / 2, foot - look.small * 0.72)

    def _words(self, look: Any, text: str, x: float, y: float) -> None:
        label = CoreLabel(text=text, font_name=SANS, font_size=look.small, color=look.soft)
        label.refresh()
        wide, high = label.texture.size
        Color(1, 1, 1, 1)
        Rectangle(texture=label.texture, pos=(x - wide / 2, y - high / 2), size=(wide, high))

    def _ear(self, look: Any, ear: str, conduction: str) -> None:
        own = (each for each in self._readings if (each.ear, each.conduction) == (ear, conduction))
        marks = charts.marks(CHART, own)
        Color(*look.ear(ear))
        for line in charts.joined(marks) if conduction == "air" else ():
            points = [value for point in line for value in self._at(point)]
            dashed = charts.LINE[ear] == "dashed"
            if dashed:
                Line(
                    points=points, width=1, dash_length=dp(6), dash_offset=dp(4)
                )  # only a thin one has dashes
            else:
                SmoothLine(points=points, width=dp(1.2))
        size = dp(15)
        for mark in marks:
            x, y = self._at(mark.at)
            x += mark.aside * size
            for stroke in mark.strokes:
                SmoothLine(
                    points=[v for px, py in stroke for v in (x + px * size, y - py * size)], width=dp(1.4)
                )
