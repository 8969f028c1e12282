"""Every colour, size and space of the interface lives here, and nothing else. No Kivy: tests read it without a window.

Colours are hex strings; lengths are in dp, text sizes in sp, the answer target in millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass, fields


@dataclass(frozen=True, slots=True)
class Palette:
    """One set of colours. ``on_x`` is the text colour on a field of colour ``x``."""

    paper: str  # the background of every screen
    card: str  # what one reads
    raised: str  # what one can press, and the bar on top
    field: str  # where one types
    line: str  # hairlines between things
    edge: str  # the border of what can be pressed
    ink: str
    soft: str  # second-rank words
    accent: str
    on_accent: str
    strong: str  # the chosen one of several
    on_strong: str
    right: str
    left: str
    mark: str  # laid behind letters that differ, and behind what must not be overlooked
    done: str  # a step that is done, whatever the answer was
    quiet: str  # the empty part of a bar
    off: str  # words of what cannot be pressed now,
    shut: str  # its ground,
    shut_edge: str  # and its border


CALM = Palette(
    paper="#F5F1E8",
    card="#FFFDF8",
    raised="#FBF9F4",
    field="#FFFFFF",
    line="#DDD5C5",
    edge="#C4B8A0",
    ink="#1E2B33",
    soft="#4B5A63",
    accent="#1F5D4C",
    on_accent="#FFFFFF",
    strong="#1E2B33",
    on_strong="#FFFFFF",
    right="#B3261E",
    left="#1F4E8C",
    mark="#F6E2B3",
    done="#ECE6D8",
    quiet="#DFD7C6",
    off="#66737B",
    shut="#FBF9F4",
    shut_edge="#DDD5C5",
)

STARK = Palette(
    paper="#FFFFFF",
    card="#FFFFFF",
    raised="#FFFFFF",
    field="#FFFFFF",
    line="#000000",
    edge="#000000",
    ink="#000000",
    soft="#1A1A1A",
    accent="#0B3D30",
    on_accent="#FFFFFF",
    strong="#000000",
    on_strong="#FFFFFF",
    right="#8F0F0A",
    left="#0B2F66",
    mark="#FFE27A",
    done="#E6E6E6",
    quiet="#C8C8C8",
    off="#4A4A4A",
    shut="#E6E6E6",
    shut_edge="#E6E6E6",
)

PALETTES = {"calm": CALM, "stark": STARK}

#: Every text colour with the grounds it is ever laid on; a test measures each pair (WCAG 2.2, 4.5:1).
TEXT_ON_GROUND = (
    *(("ink", ground) for ground in ("paper", "card", "raised", "field", "mark", "done")),
    *(("soft", ground) for ground in ("paper", "card", "raised", "field", "mark", "done")),
    *((ear, ground) for ear in ("right", "left") for ground in ("paper", "card", "raised")),
    ("off", "raised"),
    ("off", "card"),
    ("off", "field"),
    ("off", "shut"),
    ("accent", "card"),
    ("accent", "paper"),
    ("on_accent", "accent"),
    ("on_strong", "strong"),
)

# Text, in sp. Nothing is smaller than SMALL.
SMALL, BODY, LARGE, TITLE, DISPLAY, NUMERAL = 18, 20, 24, 28, 40, 112

# Lengths, in dp: (on a roomy screen, on a tight one). Tight is less than ROOMY_FROM dp high.
ROOMY_FROM = 620
GAP = (20, 10)
PAD = (28, 14)
SEAM = (8, 6)
BAR = (72, 56)
TARGET = (64, 50)  # the usual height of what can be pressed
LEAST_TARGET = 48
ROW = (76, 60)
CORNER = 14
HAIR = {"calm": 1.2, "stark": 1.9}
FIRM = {"calm": 1.8, "stark": 4.5}  # around what has the keyboard: with black lines only the width tells it
THICK = 3
STRIPE = 26  # the coloured band that names an ear

LEAST_ANSWER_MM = 12


def rgb(colour: str) -> tuple[float, float, float]:
    """The three channels of ``#RRGGBB``, each 0 to 1."""
    return tuple(int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))  # type: ignore[return-value]


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in rgb(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours by WCAG 2.2, 1 to 21."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def names() -> tuple[str, ...]:
    """The names of all colours."""
    return tuple(field.name for field in fields(Palette))
