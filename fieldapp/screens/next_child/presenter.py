"""Who is next: the classes with their counts, the children of one, search by two letters. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fieldapp.screens import phrases
from fieldapp.screens.base import Presenter
from fieldapp.services.roll import plain
from shared.errors import Refused
from shared.records.entries import Reason
from shared.records.standing import Person, Standing, Status

LIMIT = 500
EVERYBODY = 1_000_000
EVERYONE, ADDED, AGAIN_TILE = None, "+", "/"

#: Why a child who has a result is walked once more.
AGAIN = ("station", "instructions", "slip")

HAS_RESULT = (Status.PASSED, Status.RESCREEN, Status.THRESHOLD, Status.REFERRED)
MAY_HAVE_THRESHOLDS = (Status.RESCREEN, Status.THRESHOLD, Status.REFERRED)


def name_words(person: Person) -> list[str]:
    """The words of a name as they are searched for: plain small letters."""
    return plain(f"{person.given} {person.family}").replace("-", " ").replace("'", " ").split()


@dataclass(frozen=True, slots=True)
class ListView:
    """``tiles`` are (key, name, count, chosen); ``rows`` are what the list shows."""

    about: str
    sign: str
    tiles: tuple[tuple[Any, str, str, bool], ...]
    rows: list[dict[str, Any]]
    empty: str
    seen: str
    fraction: float
    rate: str
    full: str


@dataclass(frozen=True, slots=True)
class Way:
    """A button of a child's menu. ``chosen``: the reason in force."""

    text: str
    act: Callable[[], None]
    chosen: bool = False
    open: bool = True


@dataclass(frozen=True, slots=True)
class ChildMenu:
    """What the three dots open; every button has the same place for every child."""

    title: str
    reasons_words: str
    reasons: tuple[Way, ...]
    tests_words: str
    tests: tuple[Way, ...]


class NextChildPresenter(Presenter):
    """Keeps which class is open and what was typed. ``show_menu`` is set by the screen."""

    typed = ""

    def __init__(self, session: Any) -> None:
        super().__init__(session)
        self.show_menu: Callable[[ChildMenu], None] = lambda _menu: None

    def enter(self, class_name: str | None = None) -> None:
        if class_name is not None:
            self.session.class_name = class_name
        self.typed = ""
        if self.session.class_name is None:
            classes = self.session.station.classes()
            unfinished = [c for c in classes if c.seen < c.total] or classes
            if len(classes) > 1 and unfinished:
                self.session.class_name = unfinished[0].name

    def open_class(self, key: Any) -> None:
        """Show the children of a class; ``EVERYONE`` and ``ADDED`` are keys too."""
        self.session.class_name = key
        self.typed = ""
        self.changed()

    def type(self, text: str) -> None:
        """What is in the search line now."""
        if text != self.typed:
            self.typed = text
            self.changed()

    def live(self) -> list[str]:
        """The letters that still lead to a child, capital; those that can follow what was typed."""
        typed = plain(self.typed).split(" ")[-1]
        whole = len(self.typed.replace(" ", "")) >= 2
        rows = self.session.station.rows(None, self.typed if whole else "", limit=EVERYBODY)
        words = {word for row in rows for word in name_words(row.person)}
        return sorted(
            {word[len(typed)].upper() for word in words if word.startswith(typed) and word != typed}
        )

    # -- choosing --------------------------------------------------------------------------------

    def choose(self, child: str) -> None:
        """Begin the child's walk, or say why not."""
        session = self.session
        if not session.station.ready.open:
            self._closed()
            return
        standing = session.station.standing(child)
        if standing.status is Status.THRESHOLD:
            self._ask_threshold(child)
            return
        if standing.status in (Status.PASSED, Status.REFERRED, Status.CLOSED):
            self._ask_again(standing)
            return
        if session.station.current is not None:
            self._ask_in_hand(child)
            return
        if standing.status in (Status.DECLINED, Status.UNDER_CARE):
            self._ask_all_the_same(standing)
            return
        if self._too_early(standing):
            self._say_too_early(standing)
            return
        self._begin(child)

    def _begin(self, child: str) -> bool:
        if not self.guarded(lambda: self.session.station.begin(child)):
            return False
        self.session.go("walk")
        return True

    def choose_first(self) -> None:
        """Begin with the first child of the list who has not been seen."""
        rows = self._rows()
        if rows and rows[0].status is Status.NOT_SEEN:
            self.choose(rows[0].child)

    def more(self, child: str) -> None:
        """Everything else about a child: why it is not tested, or walking it once more."""
        t, standing = self.t, self.session.station.standing(child)
        status, name = standing.status, phrases.name_said(standing.person)
        ready = self.session.station.ready.open
        self.show_menu(
            ChildMenu(
                title=f"{name} · {t(f'status.{status.value}')}",
                reasons_words=t("reason.words"),
                reasons=tuple(self._reason(child, reason, status) for reason in Reason),
                tests_words=t("reason.tests"),
                tests=(
                    Way(
                        t("next_child.walk_again"),
                        lambda: self._ask_again(standing),
                        open=ready and status in HAS_RESULT,
                    ),
                    Way(
                        t("threshold.begin"),
                        lambda: self._ask_threshold(child),
                        open=ready and status in MAY_HAVE_THRESHOLDS,
                    ),
                ),
            )
        )

    def _reason(self, child: str, reason: Reason, status: Status) -> Way:
        """The button of a reason: gives it, or takes it back where it is in force."""
        text = self.t(f"status.{reason.value}").capitalize()
        if reason.value == status.value:
            return Way(f"✓ {text}", lambda: self._take_back(child), chosen=True)
        return Way(text, lambda: self._not_tested(child, reason))

    def _closed(self) -> None:
        t, go = self.t, self.session.go
        self.session.ask(
            t("next_child.closed_title"),
            t("next_child.closed_words"),
            [
                (t("next_child.closed_go"), "accent", lambda: go("readiness")),
                (t("sheet.back"), "quiet", lambda: None),
            ],
        )

    def _ask_in_hand(self, chosen: str) -> None:
        """Another child is being screened: go on with that one first."""
        session, t = self.session, self.t
        in_hand = session.station.current[0]
        if in_hand == chosen:
            session.go("walk")
            return
        name = phrases.name_said(session.station.standing(in_hand).person)
        session.ask(
            t("next_child.in_hand", name=name),
            t("next_child.in_hand_words"),
            [
                (t("next_child.in_hand_go", name=name), "accent", lambda: session.go("walk")),
                (t("sheet.back"), "quiet", lambda: None),
            ],
        )

    def _ask_all_the_same(self, standing: Standing) -> None:
        """The guardian declined, or the child is under care: no walk by a mere slip of the finger."""
        t, declined = self.t, standing.status is Status.DECLINED
        why = "declined" if declined else "under_care"
        begin = self._begin_with_consent if declined else self._begin
        self.session.ask(
            t(f"next_child.{why}", name=phrases.name_said(standing.person)),
            t(f"next_child.{why}_words"),
            [
                (t(f"next_child.{why}_go"), "quiet", lambda: begin(standing.child)),
                (t("sheet.back"), "strong", lambda: None),
            ],
        )

    def _begin_with_consent(self, child: str) -> None:
        """Consent came after all: the refusal is taken back once the walk has begun, where it is this tablet's."""
        if not self._begin(child):
            return
        try:
            self.session.station.take_back(child)
        except Refused:
            return  # given elsewhere: it stays beside the result, and the lead decides

    def _too_early(self, standing: Standing) -> bool:
        today = self.session.clock().date().isoformat()
        return (
            standing.status is Status.RESCREEN and standing.window is not None and today < standing.window[0]
        )

    def _say_too_early(self, standing: Standing) -> None:
        """The first result stands until its rescreen is due, save for a reason."""
        t = self.t
        first = phrases.short_date(t, standing.window[0] if standing.window else "")
        self.session.ask(
            t("next_child.too_early", first=first),
            t("next_child.too_early_words", name=phrases.name_said(standing.person)),
            [
                (t("next_child.walk_again"), "quiet", lambda: self._ask_again(standing)),
                (t("sheet.back"), "strong", lambda: None),
            ],
        )

    def _ask_threshold(self, child: str) -> None:
        t = self.t
        ears = (("right", "right"), ("left", "left"), ("right", "unknown"))
        ways = [
            (t(f"threshold.{word}"), "quiet", lambda ear=ear: self._begin_threshold(child, ear))
            for ear, word in ears
        ]
        self.session.ask(
            t("threshold.first_ear"),
            t("threshold.first_ear_words"),
            [*ways, (t("sheet.back"), "strong", lambda: None)],
        )

    def _begin_threshold(self, child: str, ear: str) -> None:
        if self.guarded(lambda: self.session.station.begin_threshold_test(child, first_ear=ear)):
            self.session.go("threshold")

    def _ask_again(self, standing: Standing) -> None:
        t = self.t
        name = phrases.name_said(standing.person)
        status = t(f"status.{standing.status.value}")
        ways = [
            (t(f"next_child.again_{why}"), "quiet", lambda why=why: self._again(standing.child, why))
            for why in AGAIN
        ]
        self.session.ask(
            t("next_child.has_result", name=name, status=status),
            t("next_child.has_result_words"),
            [*ways, (t("sheet.back"), "strong", lambda: None)],
        )

    def _again(self, child: str, why: str) -> None:
        session = self.session
        if self.guarded(lambda: session.station.begin(child, again=session.t(f"next_child.again_{why}"))):
            session.go("walk")

    def _not_tested(self, child: str, reason: Reason) -> None:
        if self.guarded(lambda: self.session.station.not_tested(child, reason)):
            self.changed()

    def _take_back(self, child: str) -> None:
        if self.guarded(lambda: self.session.station.take_back(child)):
            self.changed()

    def add(self) -> None:
        """A child whom the list lacks."""
        self.session.go("add_child", typed=self.typed)

    # -- what is shown ---------------------------------------------------------------------------

    def _rows(self) -> list[Standing]:
        station, key = self.session.station, self.session.class_name
        if len(self.typed.replace(" ", "")) >= 2:
            return list(station.rows(None, self.typed, limit=LIMIT))
        if key == ADDED:
            return list(station.rows(None, added=True, limit=LIMIT))
        if key == AGAIN_TILE:
            return list(station.walk_again())
        return list(station.rows(key, limit=LIMIT))

    def view(self) -> ListView:
        """The screen as it stands."""
        t, station = self.t, self.session.station
        protocol, ready, progress = station.visit.protocol, station.ready, station.progress()
        level = ready.level_db_hl or min(protocol.level(hz) for hz in protocol.frequencies)
        tones = ", ".join(str(hz) for hz in protocol.frequencies)
        rows = self._rows()
        rate, sign = "", t("next_child.not_ready")
        if progress.per_hour is not None:
            rate = t(
                "next_child.rate",
                rate=round(progress.per_hour),
                time=phrases.clock_time(t, progress.finish_at),
            )
        if ready.open:
            sign = t("next_child.ready_since", time=phrases.clock_time(t, ready.since))
        if ready.open and ready.asked:
            sign = t("next_child.asked")
        empty = ""
        if not rows:
            empty = t("next_child.no_match", typed=self.typed) if self.typed else t("next_child.nobody")
        return ListView(
            about=t("next_child.about", level=level, tones=tones),
            sign=sign,
            tiles=tuple(self._tiles(progress)),
            rows=[self._row(standing) for standing in rows],
            empty=empty,
            seen=t("next_child.seen", seen=progress.seen, total=progress.total),
            fraction=progress.seen / progress.total if progress.total else 0.0,
            rate=rate,
            full=t("next_child.limit", count=LIMIT) if len(rows) >= LIMIT else "",
        )

    def _tiles(self, progress: Any) -> Any:
        t, key, searching = self.t, self.session.class_name, bool(self.typed)
        for count in self.session.station.classes():
            said = t("next_child.of", seen=count.seen, total=count.total)
            yield (
                count.name,
                count.name or t("next_child.no_class"),
                said,
                key == count.name and not searching,
            )
        everyone = t("next_child.of", seen=progress.seen, total=progress.total)
        yield EVERYONE, t("next_child.all"), everyone, key is EVERYONE and not searching
        added = self.session.station.rows(None, added=True, limit=LIMIT)
        if added:
            yield ADDED, t("next_child.added"), str(len(added)), key == ADDED and not searching
        waiting = self.session.station.walk_again()
        if waiting:
            yield AGAIN_TILE, t("next_child.again"), str(len(waiting)), key == AGAIN_TILE and not searching

    def _row(self, standing: Standing) -> dict[str, Any]:
        person = standing.person
        born = phrases.short_date(self.t, person.born)
        everyone = self.typed or self.session.class_name in (EVERYONE, ADDED, AGAIN_TILE)
        return {
            "child": standing.child,
            "name": phrases.name_listed(person),
            "born": f"{person.class_name} · {born}" if everyone and person.class_name else born,
            "status": phrases.status_line(self.t, standing),
            "waiting": standing.status is Status.NOT_SEEN,
        }
