"""What a book knows of each tablet: its entries, its gaps, its clock; and the doubts these raise."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from sync.doubts import Doubt, DoubtKind, doubt_id

# A clock may be this far off before anyone needs to look at it.
TOLERANCE = timedelta(minutes=10)


def missing_counters(counters: Sequence[int], highest: int) -> tuple[int, ...]:
    """The counters from 1 to ``highest`` that are not among the sorted ``counters``."""
    return tuple(sorted(set(range(1, highest + 1)) - set(counters)))


@dataclass(frozen=True, slots=True)
class DeviceSeen:
    """One tablet as the book has seen it; ``device`` is empty where nothing has come back."""

    device: str
    tablet_id: str
    name: str
    entries: int = 0
    highest: int = 0
    missing: tuple[int, ...] = ()
    handout_made_at: str = ""
    received_at: str = ""
    made_at: str = ""
    gathered_at: str = ""

    @classmethod
    def silent(cls, tablet_id: str, name: str) -> DeviceSeen:
        """A tablet that has a handout and has not given back."""
        return cls("", tablet_id, name)

    @classmethod
    def from_record(
        cls, device: str, names: Mapping[str, str], record: Mapping[str, Any], counters: Sequence[int]
    ) -> DeviceSeen:
        """From what the book remembers of the device's returns and the counters it holds."""
        tablet_id = str(record.get("tablet_id", ""))
        highest = max([int(record.get("highest", 0)), *counters[-1:]])
        times = {
            n: str(record.get(n, "")) for n in ("handout_made_at", "received_at", "made_at", "gathered_at")
        }
        missing = missing_counters(counters, highest)
        return cls(device, tablet_id, names.get(tablet_id, "?"), len(counters), highest, missing, **times)

    def clock_offset(self) -> tuple[timedelta, timedelta] | None:
        """Bounds on how far the tablet's clock is ahead of the lead's (negative: behind).

        The tablet took its handout in after the lead made it and gave back before the lead gathered, so the
        offset lies between (given back - gathered) and (taken in - handed out). None before both are known.
        """
        try:
            made, gathered, received, handed = (
                datetime.fromisoformat(text)
                for text in (self.made_at, self.gathered_at, self.received_at, self.handout_made_at)
            )
            return made - gathered, received - handed
        except (ValueError, TypeError):
            return None


def device_doubts(devices: Sequence[DeviceSeen]) -> list[Doubt]:
    """The doubts about tablets: two on one handout, a clock that cannot be right."""
    doubts: list[Doubt] = []
    by_tablet: dict[str, list[DeviceSeen]] = {}
    for device in devices:
        if device.device:
            by_tablet.setdefault(device.tablet_id, []).append(device)
            if off := _clock_words(device):
                doubts.append(
                    _about(
                        DoubtKind.WRONG_CLOCK,
                        f"Is the clock of tablet {device.name} wrong?",
                        [device],
                        (off,),
                    )
                )
    for shared in by_tablet.values():
        if len(shared) > 1:
            question = f"Two tablets were opened from the handout of tablet {shared[0].name}. Was that meant?"
            reasons = tuple(f"a tablet with {device.entries} entries" for device in shared)
            doubts.append(_about(DoubtKind.SHARED_HANDOUT, question, shared, reasons))
    return doubts


def _about(kind: DoubtKind, question: str, devices: Sequence[DeviceSeen], reasons: tuple[str, ...]) -> Doubt:
    subjects = tuple(device.device for device in devices)
    return Doubt(
        doubt_id(kind, subjects), kind, question, subjects, reasons, {"noted": "Seen and taken care of."}
    )


def _clock_words(device: DeviceSeen) -> str:
    bounds = device.clock_offset()
    if bounds is None:
        return ""
    least, most = bounds
    if least > TOLERANCE:
        return f"ahead of the lead's clock by at least {_span(least)}"
    if most < -TOLERANCE:
        return f"behind the lead's clock by at least {_span(-most)}"
    return ""


def _span(span: timedelta) -> str:
    minutes = round(span.total_seconds() / 60)
    if minutes < 120:
        return f"{minutes} minutes"
    return f"{minutes // 60} hours" if minutes < 48 * 60 else f"{minutes // 1440} days"
