"""Whether there is a screen and how large, asked before there is a window: nobody sees one that is drawn into memory,
and it must not be larger than what it is shown on.

SDL, which draws Kivy's windows, is asked directly, because Kivy itself knows the screen only once its window is open.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator
from ctypes.util import find_library
from dataclasses import dataclass
from pathlib import Path

_VIDEO = 0x20  # SDL_INIT_VIDEO in SDL.h
_INTO_MEMORY = (b"offscreen", b"dummy")  # SDL's drivers without a screen
_PLACES = (
    "Kivy.libs/libSDL2-2*.so*",  # Linux
    "kivy/.dylibs/SDL2.framework/Versions/A/SDL2",  # macOS
    "../../share/sdl2/bin/SDL2.dll",  # Windows
)


class _Rect(ctypes.Structure):
    _fields_ = [(name, ctypes.c_int) for name in ("x", "y", "w", "h")]


def fitting(wanted: tuple[int, int], screen: tuple[int, int] | None) -> tuple[int, int]:
    """The wanted size, made smaller where the screen is; as wanted where nobody knows the screen."""
    if screen is None:
        return wanted
    return min(wanted[0], screen[0]), min(wanted[1], screen[1])


@dataclass(frozen=True, slots=True)
class Display:
    """The first screen. ``seen``: not where SDL found none and would draw into memory, though nobody asked for that
    (``SDL_VIDEODRIVER``). ``usable``: width and height in pixels that a window may take, without the system's own
    bars; None where nobody knows."""

    seen: bool = True
    usable: tuple[int, int] | None = None


def display() -> Display:
    """The first screen as SDL finds it; where there is no SDL to ask, an Android app fills its screen anyway."""
    for library in _libraries():
        try:
            sdl = ctypes.CDLL(library)
            if sdl.SDL_InitSubSystem(_VIDEO) != 0:
                return Display()
        except (OSError, AttributeError):
            continue
        rect = _Rect()
        known = sdl.SDL_GetDisplayUsableBounds(0, ctypes.byref(rect)) == 0
        sdl.SDL_GetCurrentVideoDriver.restype = ctypes.c_char_p
        into_memory = sdl.SDL_GetCurrentVideoDriver() in _INTO_MEMORY
        sdl.SDL_QuitSubSystem(_VIDEO)
        return Display(
            seen=not into_memory or "SDL_VIDEODRIVER" in os.environ,
            usable=(rect.w, rect.h) if known and rect.w > 0 and rect.h > 0 else None,
        )
    return Display()


def _libraries() -> Iterator[str]:
    """The SDL that Kivy was installed with, else the system's; Kivy is looked for, not imported."""
    for folder in map(Path, sys.path):
        if (folder / "kivy").is_dir():
            for place in _PLACES:
                yield from map(str, sorted(folder.glob(place)))
    if (system := find_library("SDL2")) is not None:
        yield system
