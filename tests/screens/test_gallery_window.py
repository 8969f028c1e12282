"""Every screen and state, judged: no target below 48 dp, no answer target below 12 mm, no words cut, outside the
window or over each other. The smallest tablet with the largest text in the longer language is the hardest."""

from __future__ import annotations

import pytest

pytestmark = pytest.mark.window


@pytest.mark.parametrize(
    ("size", "scale", "language"), [((800, 480, 1.0), 1.3, "es"), ((1280, 800, 1.0), 1.0, "en")]
)
def test_every_screen_holds(size, scale, language, capsys):
    from demo.gallery_pictures import take

    assert take(None, size, scale, language, []) == 0, capsys.readouterr().out
