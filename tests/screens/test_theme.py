"""The theme measured: contrast by WCAG 2.2's formula, and the ears told apart by colour-blind eyes."""

from __future__ import annotations

import itertools

import pytest

from fieldapp.widgets import theme

# WCAG 2.2, success criteria 1.4.3 (text 4.5:1, large text 3:1) and 1.4.11 (what is needed to see a control 3:1).
TEXT, PARTS = 4.5, 3.0


def test_the_formula_gives_the_published_ratios():
    # WCAG 2.2 defines black on white as 21:1 and a colour on itself as 1:1.
    assert theme.contrast("#000000", "#FFFFFF") == pytest.approx(21)
    assert theme.contrast("#777777", "#777777") == pytest.approx(1)
    # #767676 on white is the well-known lightest grey that passes AA (4.54:1), from memory.
    assert theme.contrast("#767676", "#FFFFFF") == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("name", theme.PALETTES)
def test_every_text_on_every_ground_it_is_laid_on(name):
    palette = theme.PALETTES[name]
    for text, ground in theme.TEXT_ON_GROUND:
        ratio = theme.contrast(getattr(palette, text), getattr(palette, ground))
        assert ratio >= TEXT, f"{text} on {ground}: {ratio:.2f}"


@pytest.mark.parametrize("name", theme.PALETTES)
def test_bands_bars_and_the_keyboard_ring_can_be_seen(name):
    palette = theme.PALETTES[name]
    for part, ground in (("right", "card"), ("left", "card"), ("accent", "quiet"), ("ink", "paper")):
        assert theme.contrast(getattr(palette, part), getattr(palette, ground)) >= PARTS, (part, ground)


@pytest.mark.parametrize("name", theme.PALETTES)
def test_what_cannot_be_pressed_and_what_is_written_in_look_otherwise(name):
    palette = theme.PALETTES[name]
    outline = theme.contrast(palette.edge, palette.raised)
    assert theme.contrast(palette.shut_edge, palette.shut) < 0.8 * outline
    assert theme.FIRM[name] >= 1.5 * theme.HAIR[name]
    if (
        theme.contrast(palette.ink, palette.edge) < PARTS
    ):  # the colour does not tell the one with the keyboard
        assert theme.FIRM[name] >= 2 * theme.HAIR[name]


# Machado, Oliveira and Fernandes 2009, "A Physiologically-based Model for Simulation of Color Vision
# Deficiency", severity 1.0 matrices (from memory), on linear RGB.
DEFICIENCIES = {
    "protan": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deutan": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritan": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def linear(colour):
    return [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in theme.rgb(colour)]


def seen(colour, deficiency):
    channels = linear(colour)
    return [
        min(1.0, max(0.0, sum(row[at] * channels[at] for at in range(3)))) for row in DEFICIENCIES[deficiency]
    ]


def lab(channels):
    # CIE 1976 L*a*b* from linear sRGB under D65.
    red, green, blue = channels
    x = (0.4124 * red + 0.3576 * green + 0.1805 * blue) / 0.9505
    y = 0.2126 * red + 0.7152 * green + 0.0722 * blue
    z = (0.0193 * red + 0.1192 * green + 0.9505 * blue) / 1.089

    def f(value):
        return value ** (1 / 3) if value > 0.008856 else 7.787 * value + 16 / 116

    return 116 * f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))


@pytest.mark.parametrize(
    ("name", "deficiency"), list(itertools.product(theme.PALETTES, DEFICIENCIES)), ids="-".join
)
def test_right_and_left_differ_for_colour_blind_eyes(name, deficiency):
    palette = theme.PALETTES[name]
    one, other = (lab(seen(getattr(palette, ear), deficiency)) for ear in ("right", "left"))
    difference = sum((a - b) ** 2 for a, b in zip(one, other, strict=True)) ** 0.5
    assert difference > 20, difference  # about ten just noticeable differences


def test_no_text_is_smaller_than_eighteen_and_no_target_below_forty_eight():
    sizes = (theme.SMALL, theme.BODY, theme.LARGE, theme.TITLE, theme.DISPLAY, theme.NUMERAL)
    assert min(sizes) >= 18
    assert min(*theme.TARGET, *theme.ROW, theme.LEAST_TARGET) >= 48
    assert theme.LEAST_ANSWER_MM >= 12
