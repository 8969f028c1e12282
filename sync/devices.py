"""What a book knows of each tablet: its entries, its gaps, its clock; and the doubts these raise."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from shared.records.entries import Entry, Kind
from sync.doubts import Doubt, DoubtKind, doubt_id
from sync.returns import Return

# A clock may be this far off before anyone needs to look at it.
TOLERANCE = timedelta(minutes=10)
# Rescreens and threshold tests come weeks after the visit; nothing comes this much before or after it.
FAR_FROM_VISIT = timedelta(days=200)


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
    first_at: str = ""
    last_at: str = ""
    set_back: timedelta = timedelta(0)
    rolled_back_to: int = 0  # its newest counter, where a later return had fewer entries than an earlier one
    rolled_back_from: int = 0

    @classmethod
    def silent(cls, tablet_id: str, name: str) -> DeviceSeen:
        """A tablet that has a handout and has not given back."""
        return cls("", tablet_id, name)

    @classmethod
    def from_record(
        cls, device: str, name: str, record: Mapping[str, Any], entries: Sequence[Entry]
    ) -> DeviceSeen:
        """From what the book remembers of the device's returns, and its entries in counter order."""
        times = {
            n: str(record.get(n, "")) for n in ("handout_made_at", "received_at", "made_at", "gathered_at")
        }
        counters = [entry.counter for entry in entries]
        highest = max([int(record.get("highest", 0)), *counters[-1:]])
        worked = [entry.at for entry in entries if entry.kind is not Kind.TABLET_NAMED]
        back = set_back(entries)
        rolled_from, rolled_to = (0, 0) if back else rolled_back(record.get("returns", ()))
        return cls(
            device=device,
            tablet_id=str(record.get("tablet_id", "")),
            name=name,
            entries=len(entries),
            highest=highest,
            missing=missing_counters(counters, highest),
            first_at=min(worked, default=""),
            last_at=max(worked, default=""),
            set_back=back,
            rolled_back_to=rolled_to,
            rolled_back_from=rolled_from,
            **times,
        )

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


def remembered(before: Mapping[str, Any], returned: Return, gathered_at: str) -> dict[str, Any]:
    """What the book remembers of a device after one more return: the same in whatever order its returns come."""
    returns = {(str(made_at), int(highest)) for made_at, highest in before.get("returns", ())}
    if before and "returns" not in before:  # before 2026-12 a book remembered only these two
        returns.add((str(before.get("made_at", "")), int(before.get("highest", 0))))
    latest = max(str(before.get("made_at", "")), returned.made_at, key=_instant)
    return {
        "tablet_id": returned.tablet_id,
        "highest": max(int(before.get("highest", 0)), returned.highest),
        "handout_made_at": returned.handout_made_at,
        "received_at": returned.received_at,
        "made_at": latest,
        # An old return brought again says nothing new of the clock.
        "gathered_at": gathered_at
        if latest != before.get("made_at")
        else before.get("gathered_at", gathered_at),
        "returns": _telling({*returns, (returned.made_at, returned.highest)}),
    }


def _telling(returns: Iterable[tuple[str, int]]) -> list[list[Any]]:
    """Of each highest counter the first and the last return: no other says more of the order in which they were made,
    and a day of sending over the network makes hundreds."""
    of_counter: dict[int, list[str]] = {}
    for made_at, highest in sorted(returns, key=lambda each: _instant(each[0])):
        of_counter.setdefault(highest, []).append(made_at)
    kept = ((times[at], highest) for highest, times in of_counter.items() for at in {0, len(times) - 1})
    return sorted([made_at, highest] for made_at, highest in kept)


def rolled_back(returns: Iterable[Sequence[Any]]) -> tuple[int, int]:
    """From and to which counter a device's returns went back, in the order in which they were made; 0, 0 if never.

    Made later, yet with fewer entries: only a tablet restored from an older copy gives that back.
    """
    most, found = 0, (0, 0)
    for _, highest in sorted(((_instant(str(at)), int(top)) for at, top in returns)):
        if highest < most:
            found = (most, highest)
        most = max(most, highest)
    return found


def _instant(at: str) -> tuple[float, str]:
    """Sorts times by the moment that they name, whatever their offsets; what is no time comes first."""
    try:
        return datetime.fromisoformat(at).timestamp(), at
    except (ValueError, OverflowError):
        return float("-inf"), at


def device_doubts(devices: Sequence[DeviceSeen], visit_days: Sequence[str] = ()) -> list[Doubt]:
    """The doubts about tablets: two on one handout, an older copy, a clock that cannot be right."""
    doubts: list[Doubt] = []
    on_handout: dict[tuple[str, str], list[DeviceSeen]] = {}
    for device in devices:
        if not device.device:
            continue
        if device.rolled_back_to:
            question = f"Tablet {device.name} gave back less than before. Was it restored from an old copy?"
            now, before = device.rolled_back_to, device.rolled_back_from
            reason = f"entries 1 to {now} now, 1 to {before} before; none is lost here"
            which = (str(before), str(now))
            doubts.append(_about(DoubtKind.OLDER_COPY, question, [device], (reason,), which))
        # A tablet handed out anew, for the rescreen day say, is a new device on another handout.
        on_handout.setdefault((device.tablet_id, device.handout_made_at), []).append(device)
        if reasons := _clock_reasons(device, visit_days):
            question = (
                f"The clock of tablet {device.name} cannot be right. Are its times to be corrected by hand?"
            )
            told = tuple(reasons.values())
            doubts.append(_about(DoubtKind.WRONG_CLOCK, question, [device], told, tuple(sorted(reasons))))
    for shared in on_handout.values():
        if len(shared) > 1:
            question = f"Two tablets were opened from the handout of tablet {shared[0].name}. Was that meant?"
            told = tuple(f"a tablet with {device.entries} entries" for device in shared)
            doubts.append(_about(DoubtKind.SHARED_HANDOUT, question, shared, told))
    return doubts


def set_back(entries: Iterable[Entry]) -> timedelta:
    """The most that a device's clock was set back between two of its entries, in the order of their counters.

    The naming of the tablet is left out: it is written when the handout is taken in, days before perhaps.
    """
    most = timedelta(0)
    latest: datetime | None = None
    for entry in entries:
        if entry.kind is Kind.TABLET_NAMED:
            continue
        try:
            moment = datetime.fromisoformat(entry.at)
            most = max(most, (latest or moment) - moment)
            latest = max(latest or moment, moment)
        except (ValueError, TypeError):
            continue
    return most


def _about(
    kind: DoubtKind,
    question: str,
    devices: Sequence[DeviceSeen],
    reasons: tuple[str, ...],
    which: tuple[str, ...] = (),
) -> Doubt:
    """``which`` tells this doubt from an earlier one about the same devices that was noted already."""
    subjects = tuple(device.device for device in devices)
    noted = {"noted": "Seen and taken care of."}
    return Doubt(doubt_id(kind, (*subjects, *which)), kind, question, subjects, reasons, noted)


def _clock_reasons(device: DeviceSeen, visit_days: Sequence[str]) -> dict[str, str]:
    reasons: dict[str, str] = {}
    bounds = device.clock_offset()
    if bounds is not None:
        least, most = bounds
        if least > TOLERANCE:
            reasons["ahead"] = f"ahead of the lead's clock by at least {_span(least)}"
        elif most < -TOLERANCE:
            reasons["behind"] = f"behind the lead's clock by at least {_span(-most)}"
    if device.set_back > TOLERANCE:
        reasons["set-back"] = f"set back by {_span(device.set_back)} between two entries"
    far = [_days_off(day, visit_days) for day in (device.first_at, device.last_at) if day]
    if visit_days and far and max(far) > FAR_FROM_VISIT:
        reasons["far"] = f"its entries are dated {_span(max(far))} away from the visit"
    return reasons


def _days_off(at: str, visit_days: Sequence[str]) -> timedelta:
    try:
        day = date.fromisoformat(at[:10])
        return min(abs(day - date.fromisoformat(each)) for each in visit_days)
    except ValueError:
        return timedelta(0)


def _span(span: timedelta) -> str:
    minutes = round(span.total_seconds() / 60)
    if minutes < 120:
        return f"{minutes} minutes"
    return f"{minutes // 60} hours" if minutes < 48 * 60 else f"{minutes // 1440} days"
