"""Whether there is a screen and how large, asked before there is a window: nobody sees one that is drawn into memory,
and it must not be larger than what it is shown on.

SDL, which draws Kivy's windows, is asked directly, because Kivy itself knows the screen only once its window is open.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from ctypes.util import find_library
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


def usable_size() -> tuple[int, int] | None:
    """Width and height in pixels that a window may take on the first screen, without the system's own bars.

    None where there is no screen, or no SDL to ask (an Android app fills its screen anyway).
    """
    rect = _Rect()
    with _sdl() as sdl:
        known = sdl is not None and sdl.SDL_GetDisplayUsableBounds(0, ctypes.byref(rect)) == 0
    return (rect.w, rect.h) if known and rect.w > 0 and rect.h > 0 else None


def nowhere_to_show() -> bool:
    """Whether SDL found no screen and would draw into memory, though nobody asked for that (``SDL_VIDEODRIVER``)."""
    with _sdl() as sdl:
        if sdl is None or "SDL_VIDEODRIVER" in os.environ:
            return False
        sdl.SDL_GetCurrentVideoDriver.restype = ctypes.c_char_p
        return sdl.SDL_GetCurrentVideoDriver() in _INTO_MEMORY


@contextmanager
def _sdl() -> Iterator[ctypes.CDLL | None]:
    """SDL with its video begun, or None."""
    for library in _libraries():
        try:
            sdl = ctypes.CDLL(library)
            if sdl.SDL_InitSubSystem(_VIDEO) != 0:
                break
        except (OSError, AttributeError):
            continue
        try:
            yield sdl
        finally:
            sdl.SDL_QuitSubSystem(_VIDEO)
        return
    yield None


def _libraries() -> Iterator[str]:
    """The SDL that Kivy was installed with, else the system's; Kivy is looked for, not imported."""
    for folder in map(Path, sys.path):
        if (folder / "kivy").is_dir():
            for place in _PLACES:
                yield from map(str, sorted(folder.glob(place)))
    if (system := find_library("SDL2")) is not None:
        yield system
