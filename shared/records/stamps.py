"""Hybrid logical stamps: one order for the entries of all devices, whatever their clocks say.

A stamp is text that sorts as it should: milliseconds since 1970 (15 digits), a logical count (6 digits)
and the device, as ``000001797000000.000002@k3f9q2xa``. A device never writes a stamp at or before one it has
written or read, so its own entries keep their order when its clock is set back, and a decision always comes
after what was decided on.

Source: Kulkarni et al., "Logical Physical Clocks", OPODIS 2014 (from memory).
"""

from __future__ import annotations


def milliseconds(stamp: str) -> int:
    """The physical part of a stamp, in ms since 1970."""
    return int(stamp[:15])


def stamp_after(last: str, now_ms: int, device: str) -> str:
    """The next stamp of ``device`` after ``last`` (empty: none yet) at the wall clock ``now_ms``."""
    if not last or now_ms > milliseconds(last):
        return f"{max(now_ms, 0):015d}.{0:06d}@{device}"
    count = int(last[16:22]) + 1
    # A full count carries over: seven digits would sort before six.
    return f"{milliseconds(last) + count // 1_000_000:015d}.{count % 1_000_000:06d}@{device}"
