"""The stations side by side: what the watch raised, and how often each tone was missed where. No Kivy."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from shared.records.entries import EARS, Kind

#: Fewer children than this say nothing about a station.
FEW = 5


@dataclass(frozen=True, slots=True)
class StationRow:
    """One tablet: its cells are (words, whether the watch raised this tone); or, instead of all, why there are none."""

    name: str
    children: str
    cells: tuple[tuple[str, bool], ...]
    instead: str = ""


@dataclass(frozen=True, slots=True)
class WatchView:
    """``heads`` are (ear, word) of the columns; ``alarms`` what was raised, newest first."""

    heads: tuple[tuple[str, str], ...]
    rows: tuple[StationRow, ...]
    alarms: tuple[tuple[str, str, tuple[str, ...]], ...]


class WatchPresenter(Presenter):
    """Counts first walks only, a walk after reseating is not independent; and no rescreens, whose children miss more
    often at the best of stations."""

    def view(self) -> WatchView:
        """The screen as it stands."""
        t, desk = self.t, self.session.desk
        tones = [(ear, hz) for ear in EARS for hz in sorted(desk.protocol.frequencies)]
        given: dict[Any, int] = defaultdict(int)
        missed: dict[Any, int] = defaultdict(int)
        children: dict[str, int] = defaultdict(int)
        rescreens: dict[str, int] = defaultdict(int)
        for standing in desk.standings():
            for screening in standing.screenings:
                rescreens[screening.device] += screening.passed is not None
            for screening in standing.first_results:
                rescreens[screening.device] -= 1
                children[screening.device] += 1
                for answer in screening.answers:
                    if answer.walk == 1:
                        key = (screening.device, answer.ear, answer.hz)
                        given[key] += 1
                        missed[key] += not answer.heard
        raised = desk.ledger.register.entries(Kind.WATCH_RAISED)
        flagged = {(e.device, e.body.get("ear"), e.body.get("hz")) for e in raised}
        names = {d.device: phrases.tablet(t, d.name) for d in desk.devices() if d.device}
        rows = tuple(
            StationRow(
                name,
                t("watch.children", count=children[device]),
                (),
                t("watch.rescreens", count=rescreens[device])
                if rescreens[device]
                else t("watch.few", least=FEW),
            )
            if children[device] < FEW
            else StationRow(
                name,
                t("watch.children", count=children[device]),
                tuple(
                    (
                        self._rate(missed[device, ear, hz], given[device, ear, hz]),
                        (device, ear, hz) in flagged,
                    )
                    for ear, hz in tones
                ),
            )
            for device, name in names.items()
        )
        return WatchView(
            tuple((ear, f"{t(f'ear.{ear}_short')} {hz}") for ear, hz in tones),
            rows,
            tuple(self._alarm(entry, names) for entry in sorted(raised, key=lambda e: e.stamp, reverse=True)),
        )

    def _rate(self, missed: int, given: int) -> str:
        if given < FEW:
            return "–"
        return f"{round(100 * missed / given)} %"

    def _alarm(self, entry: Any, names: dict[str, str]) -> tuple[str, str, tuple[str, ...]]:
        t, desk = self.t, self.session.desk
        time = f"{phrases.short_date(t, entry.at)}, {phrases.clock_time(t, entry.at)}"
        heading = f"{names.get(entry.device, '?')} · {time}"
        people = desk.ledger.register.people()
        again = tuple(phrases.name_listed(people[c]) for c in entry.body.get("missed", ()) if c in people)
        return heading, t.sentence(str(entry.body.get("what", ""))), again
