"""Loads every widget, so that any ``.kv`` file may name it."""

from __future__ import annotations

from fieldapp.widgets import (
    audiogram,
    box,
    dates,
    field,
    file_list,
    leaf,
    pads,
    press,
    rows,
    sheet,
    step_map,
    top,
    words,
)

__all__ = [
    "audiogram",
    "box",
    "dates",
    "field",
    "file_list",
    "leaf",
    "pads",
    "press",
    "rows",
    "sheet",
    "step_map",
    "top",
    "words",
]
