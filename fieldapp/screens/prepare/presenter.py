"""Prepares a visit: roster, school and days, protocol, time plan, passphrase. No Kivy.

Where there is no store yet, the same screen takes a handout in on a tablet.
"""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import chain, count
from pathlib import Path
from typing import Any

from fieldapp.screens import phrases, protocol_words
from fieldapp.screens.roster_choice import RosterChoice
from fieldapp.services.exemptions import due_for
from fieldapp.services.presets import preset, preset_names
from shared.errors import QuietbellError
from shared.hearing.due import exempt_for, exemption_over
from shared.hearing.protocol import Protocol
from shared.records.standing import Person
from shared.vault import passphrases

STEPS = ("roster", "school", "protocol", "plan", "passphrase")
MINUTES = (1.0, 1.5, 2.0, 2.5, 3.0)
MOST_TABLETS = 12
WEEKS_SHOWN, WEEKS_AHEAD = 4, 52

#: What comes back when another screen was looked at in between.
KEPT = (
    *("step", "folder", "file", "reading", "refused", "school", "days"),
    *("protocol", "tablets", "minutes", "passphrase", "weeks", "only_due", "book"),
)

# From memory: a sweep takes one to three minutes a child, changing over included.
USUAL_MINUTES = 1.5


@dataclass(frozen=True, slots=True)
class ProtocolView:
    """One protocol to choose from."""

    name: str
    title: str
    source: str
    checked: str
    marks: str
    cautions: str
    rule: str


class PreparePresenter(RosterChoice):
    """Keeps everything until the book is made."""

    def enter(self, kept: Mapping[str, Any] | None = None) -> None:
        """``kept`` is what had been filled in before another screen was looked at."""
        self.step = STEPS[0]
        self.begin_choice()
        self.school = ""
        self.days: list[date] = [self.session.clock().date()]
        self.weeks = 0  # the first week whose days are shown, counted from today
        self.only_due = False
        self.book = self._free_place()
        self.protocol = preset_names()[0]
        self.tablets, self.minutes = 4, USUAL_MINUTES
        self.passphrase = ""
        self.busy = False
        for name, value in (kept or {}).items():
            setattr(self, name, value)

    def _free_place(self) -> Path:
        """Where the book is made unless another place is chosen: nothing lies there yet."""
        own = self.session.own_file
        later = (own.with_name(f"visit-{number}.book") for number in count(2))
        return next(path for path in chain((own, own.with_name("visit.book")), later) if not path.exists())

    # -- steps -----------------------------------------------------------------------------------

    def filled(self, step: str) -> bool:
        """Whether a step has what it needs."""
        return {
            "roster": bool(self.reading and self.reading.rows),
            "school": bool(self.school.strip() and self.days),
            "protocol": self._chosen() is not None,
            "plan": bool(self.people()),
            "passphrase": passphrases.weakness(self.passphrase) is None,
        }[step]

    def button(self) -> str:
        """What the big button does, or what it waits for."""
        t = self.t
        if self.busy:
            return t("prepare.making")
        if not self.filled(self.step):
            return self._needs()
        return t("prepare.make") if self.step == STEPS[-1] else t("readiness.next")

    def _needs(self) -> str:
        """What the present step lacks."""
        if self.step == "school":
            return self.t("prepare.needs_days" if self.school.strip() else "prepare.needs_school")
        if self.step == "passphrase":
            return self.t("hand_out.weak" if self.passphrase else "hand_out.needs")
        return self.t("prepare.needs_roster" if self.step == "roster" else "readiness.next")

    def signs(self) -> list[tuple[str, str, bool, bool, bool]]:
        """(step, title, now, done, whether it can be opened) of every step."""
        at = STEPS.index(self.step)
        return [
            (
                step,
                self.t(f"prepare.{step}"),
                step == self.step,
                self.filled(step) and STEPS.index(step) < at,
                self._opens(step),
            )
            for step in STEPS
        ]

    def _opens(self, step: str) -> bool:
        """Whether all steps before it are filled."""
        return all(self.filled(each) for each in STEPS[: STEPS.index(step)])

    def open_step(self, step: str) -> None:
        """Go to a step, once all before it are filled."""
        if self._opens(step):
            self.step = step
            self.changed()

    def onward(self) -> None:
        """The next step, or make the book."""
        if self.step == STEPS[-1]:
            self.make()
        else:
            self.open_step(STEPS[STEPS.index(self.step) + 1])

    # -- school, days, protocol, plan ------------------------------------------------------------

    def type_school(self, name: str) -> None:
        """The school's name."""
        self.school = name
        self.changed()

    def turn_day(self, iso: str) -> None:
        """A day of the visit, or not after all."""
        day = date.fromisoformat(iso)
        self.days = sorted(set(self.days) ^ {day})
        self.changed()

    def days_words(self) -> str:
        """The days of the visit."""
        return ", ".join(phrases.short_date(self.t, day.isoformat()) for day in self.days)

    def coming_days(self) -> list[tuple[str, str, bool]]:
        """(ISO, words, chosen) of the Mondays to Fridays of the four weeks in sight."""
        days, t = self._days_shown(), self.t
        return [
            (
                day.isoformat(),
                f"{t(f'weekday.{day.weekday()}')} {day.day} {t(f'month.{day.month}')}",
                day in self.days,
            )
            for day in days
            if day.weekday() < 5
        ]

    def _days_shown(self) -> list[date]:
        first = self.session.clock().date() + timedelta(weeks=self.weeks)
        return [first + timedelta(days=n) for n in range(WEEKS_SHOWN * 7)]

    def range_words(self) -> str:
        """From when to when the days in sight are, with their years."""
        shown = self._days_shown()
        first, last = (phrases.short_date(self.t, day.isoformat()) for day in (shown[0], shown[-1]))
        return self.t("prepare.range", first=first, last=last)

    @property
    def may_turn(self) -> tuple[bool, bool]:
        """Whether there are earlier and later days to choose from."""
        return self.weeks > 0, self.weeks < WEEKS_AHEAD

    def turn_weeks(self, by: int) -> None:
        """Four weeks later, or earlier; never before today."""
        self.weeks = min(WEEKS_AHEAD, max(0, self.weeks + by * WEEKS_SHOWN))
        self.changed()

    def protocols(self) -> list[tuple[str, str, str]]:
        """(name, title, sign) of every preset, the protocols that were made here first."""
        t, own = self.t, self.session.own_protocols
        titles = own.titles()
        ours = [
            (name, titles.get(name, name), t("protocol.about_own" if name in titles else "protocol.broken"))
            for name in own.names()
        ]
        return [*ours, *((name, t.sentence(preset(name).title), "") for name in preset_names())]

    def see_protocol(self) -> None:
        """All of the chosen protocol; what was filled in so far comes back with it."""
        if self._chosen() is not None:
            kept = {name: getattr(self, name) for name in KEPT}
            self.session.go("protocol", protocol=self.protocol, visit=kept)

    def _chosen(self) -> Protocol | None:
        """The chosen protocol; None where its file makes no sense."""
        try:
            return self.session.own_protocols.load(self.protocol)
        except QuietbellError:
            return None

    def choose_protocol(self, name: str) -> None:
        """Another protocol."""
        self.protocol = name
        self.changed()

    def protocol_view(self) -> ProtocolView:
        """The chosen protocol with its source and its marks."""
        t = self.t
        own = self.session.own_protocols
        try:
            protocol = own.load(self.protocol)
        except QuietbellError as error:
            said = [t.sentence(part) for part in (error.happened, error.todo) if part]
            return ProtocolView(
                self.protocol,
                self.protocol,
                str(own.path(self.protocol)),
                "",
                "",
                "\n".join(said),
                t("protocol.broken_title"),
            )
        data = protocol.to_dict()
        tones, levels, most, days = (
            protocol_words.value(t, data, field)
            for field in ("frequencies", "levels", "presentations", "rescreen_days")
        )
        return ProtocolView(
            protocol.name,
            protocol_words.title(t, protocol),
            t.sentence(protocol.source),
            t("prepare.checked", day=phrases.short_date(t, protocol.checked))
            + ("" if protocol.verified else f" {t('prepare.unverified')}"),
            "\n".join(protocol_words.fields_by_mark(t, protocol)),
            "\n".join(t.sentence(caution) for caution in protocol.cautions),
            t("prepare.rule", tones=tones, levels=levels.replace("\n", "; "), most=most, days=days),
        )

    def set_plan(self, tablets: int = 0, minutes: float = 0) -> None:
        """More or fewer tablets, another pace."""
        self.tablets = min(MOST_TABLETS, max(1, tablets or self.tablets))
        self.minutes = minutes or self.minutes
        self.changed()

    def plan_words(self) -> str:
        """How long it takes: children, tablets and minutes a child."""
        children = len(self.people())
        minutes = math.ceil(children / self.tablets) * self.minutes
        hours, rest = divmod(round(minutes), 60)
        time = self.t("prepare.hours_minutes" if hours else "prepare.minutes_only", hours=hours, rest=rest)
        words = self.t(
            "prepare.plan_words",
            children=self.t.counted("prepare.plan_children", children),
            tablets=self.t.counted("prepare.plan_tablets", self.tablets),
            time=time,
        )
        return "\n".join(part for part in (words, self._exempt_words()) if part)

    def set_only_due(self, only_due: bool) -> None:
        """Only the children that the protocol names go into the book, or every child of the list."""
        self.only_due = only_due
        self.changed()

    def _due(self) -> list[Person]:
        """The children of the list whom the protocol names on the visit's last day."""
        protocol, rows = self._chosen(), self.reading.rows if self.reading else ()
        day = max(self.days, default=self.session.clock().date())
        return [row.person for row in rows if protocol and due_for(protocol, row.person, day)]

    def people(self) -> list[Person]:
        """The children that go into the book."""
        everyone = [row.person for row in self.reading.rows] if self.reading else []
        return self._due() if self.only_due and self.outside() else everyone

    def outside(self) -> int:
        """How many children of the list are in grades that the protocol does not name."""
        return len(self.reading.rows) - len(self._due()) if self.reading else 0

    def outside_words(self) -> str:
        """What becomes of them."""
        count = self.outside()
        return (
            self.t("prepare.outside_out" if self.only_due else "prepare.outside_in", count=count)
            if count
            else ""
        )

    def _exempt_words(self) -> str:
        """How many children the roster exempts under the chosen protocol, and for how many that is over."""
        on_file = [row.person.exemptions for row in self.reading.rows] if self.reading else []
        protocol, day = (
            self.session.own_protocols.load(self.protocol),
            max(self.days, default=self.session.clock().date()),
        )
        standing = sum(bool(exempt_for(protocol, each, day)) for each in on_file)
        over = sum(exemption_over(protocol, each, day) for each in on_file)
        return self.t("roster.exempt", count=standing, over=over) if standing or over else ""

    # -- the book --------------------------------------------------------------------------------

    def type_passphrase(self, text: str) -> None:
        """The book's passphrase."""
        self.passphrase = text
        self.changed()

    def advice(self) -> str:
        """What would make it better."""
        return self.t.sentence(passphrases.advice(self.passphrase)) if self.passphrase else ""

    def suggest(self) -> str:
        """Four made-up words."""
        return passphrases.suggestion(os.urandom)

    def ask_place(self) -> None:
        """Ask in which folder and under which name the book is made."""
        t = self.t
        self.session.ask_text(
            t("prepare.elsewhere_title"),
            t("prepare.elsewhere_label"),
            t("prepare.elsewhere_keep"),
            lambda _words: self.changed(),
            text=str(self.book),
            check=self.set_book,
        )

    def set_book(self, words: str) -> str:
        """Make the book there; gives what is wrong with the place, or nothing. A bare name stays in the folder."""
        book = (self.book.parent / Path(words.strip()).expanduser()).resolve()
        if not words.strip() or book.exists():
            return self.t("prepare.elsewhere_there")
        standard = self.session.own_file.parent
        if not book.parent.is_dir() and book.parent != standard:
            return self.t("prepare.elsewhere_none")
        self.book = book
        return ""

    def make(self) -> None:
        """Make the visit book and open it."""
        if self.busy or self.reading is None or not all(self.filled(step) for step in STEPS):
            return
        people = self.people()
        maker: Callable[..., Any] = self.session.prepare_book
        path, passphrase, school, days = (
            str(self.book),
            self.passphrase,
            self.school,
            list(self.days),
        )
        protocol = self.session.own_protocols.load(self.protocol)
        self.busy = True
        self.changed()
        self.session.work(
            lambda: maker(path, passphrase, school=school, people=people, protocol=protocol, dates=days),
            self._made,
            self._failed,
        )

    def _made(self, desk: Any) -> None:
        self.busy = False
        self.session.store_path = str(self.book)
        self.session.desk = desk
        self.session.remember_opened()
        self.session.go("hand_out")

    def _failed(self, error: Exception) -> None:
        self.busy = False
        self.session.trouble(error)
        self.changed()
