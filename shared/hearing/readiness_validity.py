"""How long a passed readiness check holds: its day, room, equipment and screener, while the watch is calm.

Only the reasons for which a check runs out may live here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class StationFor:
    """For what a check was passed, and for what the station is wanted now. Empty texts: not known."""

    day: date
    screener: str
    audiometer: str = ""
    earphones: str = ""
    room: str = ""


def why_expired(passed: StationFor, now: StationFor, *, watch: str = "") -> str:
    """In words why the check no longer holds, or empty while it does.

    ``watch``: what the station watch asked for since, if anything. A text that is not known now (the
    equipment, before it is asked for) does not end the check; one that was not known then and is now does.
    """
    if now.day != passed.day:
        return "The readiness check is from another day."
    if now.screener != passed.screener:
        return "The readiness check was done by another screener."
    for name in ("audiometer", "earphones", "room"):
        then, wanted = getattr(passed, name), getattr(now, name)
        if wanted and wanted != then:
            place = {"room": "in another room", "earphones": "with other earphones"}.get(
                name, "with another audiometer"
            )
            return f"The readiness check was done {place}."
    if watch:
        return f"The station watch asks for a new check. {watch}"
    return ""
