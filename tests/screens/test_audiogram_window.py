"""The audiogram on the real window: its figures have their units, and no words of it lie over others or outside."""

from __future__ import annotations

from itertools import combinations

import pytest

from tests.facts import PASSPHRASE
from tests.screens.conftest import Ticks

pytestmark = pytest.mark.window


@pytest.mark.parametrize("scale", [1.0, 1.3])
@pytest.mark.parametrize("size", [(300, 380), (250, 340), (560, 620)])
def test_the_chart_says_its_units_and_its_words_keep_apart(visit, scale, size):
    from kivy.graphics import Rectangle

    from demo.window import Hand
    from fieldapp.widgets.audiogram import UNITS, Audiogram

    hand = Hand(visit.session(ticks=Ticks()), (1280, 800))
    hand.unlock(PASSPHRASE, "MK")
    hand.session.change(text_scale=scale)
    said = []

    class Heard(Audiogram):
        def _words(self, look, text, x, y):
            super()._words(look, text, x, y)
            drawn = [each for each in self.canvas.children if isinstance(each, Rectangle)][-1]
            said.append((text, *drawn.pos, *drawn.size))

    chart = Heard(size_hint=(None, None), size=size)
    hand.app.stage.current.add_widget(chart)
    hand.frames()
    said.clear()
    chart.show(())
    hand.close()
    assert UNITS in [text for text, *_where in said] and "Hz" in UNITS and "dB HL" in UNITS
    for _text, x, y, wide, high in said:
        assert chart.x <= x and x + wide <= chart.right and chart.y <= y and y + high <= chart.top
    for (_one, x, y, wide, high), (_other, left, foot, broad, tall) in combinations(said, 2):
        apart = x + wide <= left or left + broad <= x or y + high <= foot + 1 or foot + tall <= y + 1
        assert apart, (_one, _other)
