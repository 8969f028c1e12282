"""Who is next: the classes with their counts, the children of one, search by two letters. No Kivy."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fieldapp.screens import could_not, ear_signs, phrases
from fieldapp.screens.base import Presenter
from fieldapp.screens.doors import Doors
from fieldapp.services.roll import letters_after
from shared.records.entries import Reason
from shared.records.standing import Standing, Status

LIMIT = 500
EVERYBODY = 1_000_000
EVERYONE, ADDED, AGAIN_TILE = None, "+", "/"

HAS_RESULT = (Status.PASSED, Status.RESCREEN, Status.THRESHOLD, Status.REFERRED)
MAY_HAVE_THRESHOLDS = (Status.RESCREEN, Status.THRESHOLD, Status.REFERRED)


@dataclass(frozen=True, slots=True)
class ListView:
    """``tiles`` are (key, name, count, chosen); ``rows`` are what the list shows."""

    about: str
    sign: str
    closed: bool  # the station is not ready, and the sign says so
    tiles: tuple[tuple[Any, str, str, bool], ...]
    rows: list[dict[str, Any]]
    empty: str
    seen: str
    fraction: float
    rate: str
    finish: str  # the shorter of the two
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
    noted = ""  # the child whose reason was noted last, and where it stands now
    _undoes = ""  # that child, where it can be undone

    def __init__(self, session: Any) -> None:
        super().__init__(session)
        self.show_menu: Callable[[ChildMenu], None] = lambda _menu: None
        self.doors = Doors(session, self.more)

    def enter(self, class_name: str | None = None) -> None:
        if class_name is not None:
            self.session.class_name = class_name
        self.typed = ""
        self._forget_note()
        if self.session.class_name is None:
            classes = self.session.station.classes()
            unfinished = [c for c in classes if c.left] or classes
            if len(classes) > 1 and unfinished:
                self.session.class_name = unfinished[0].name
        self._remember()

    def _remember(self) -> None:
        """The store remembers the open class, so that one comes back to it after a crash or the lock."""
        self.session.station.remember("next_child", self.session.class_name or "")

    def open_class(self, key: Any) -> None:
        """Show the children of a class; ``EVERYONE`` and ``ADDED`` are keys too."""
        self.session.class_name = key
        self.typed = ""
        self._forget_note()
        self._remember()
        self.changed()

    def type(self, text: str) -> None:
        """What is in the search line now."""
        if text != self.typed:
            self.typed = text
            self._forget_note()
            self.changed()

    def live(self) -> list[str]:
        """The letters that still lead to a child, capital; those that can follow what was typed."""
        whole = len(self.typed.replace(" ", "")) >= 2
        rows = self.session.station.rows(None, self.typed if whole else "", limit=EVERYBODY)
        return letters_after(rows, self.typed)

    # -- choosing --------------------------------------------------------------------------------

    def choose(self, child: str) -> None:
        """Begin the child's walk, or say why not."""
        self.doors.choose(child)

    def choose_first(self) -> None:
        """Begin with the first child of the list who waits."""
        rows = self._rows()
        if rows and self.session.station.waits(rows[0]):
            self.choose(rows[0].child)

    def _taken_back(self, child: str) -> str:
        """How a reason is taken back, where one was given here."""
        return self.t("reason.take_back") if self.session.station.reasons_given(child) else ""

    def more(self, child: str) -> None:
        """Everything else about a child: why it is not tested, or walking it once more."""
        t, standing = self.t, self.session.station.standing(child)
        status, name = standing.status, phrases.name_said(standing.person)
        ready = self.session.station.ready.open
        self.show_menu(
            ChildMenu(
                title=f"{name} · {t(f'status.{status.value}')}",
                reasons_words=" ".join(filter(None, (t("reason.words"), self._taken_back(child)))),
                reasons=tuple(self._reason(standing, reason) for reason in Reason),
                tests_words=t("reason.tests"),
                tests=(
                    Way(
                        t("next_child.walk_again"),
                        lambda: self.doors.ask_again(standing),
                        open=ready and status in HAS_RESULT,
                    ),
                    Way(
                        t("threshold.begin"),
                        lambda: self.doors.ask_threshold(child),
                        open=ready and status in MAY_HAVE_THRESHOLDS,
                    ),
                ),
            )
        )

    def _reason(self, standing: Standing, reason: Reason) -> Way:
        """The button of a reason: gives it, or takes it back where it was given, also under a result."""
        child, text = standing.child, self.t(f"status.{reason.value}").capitalize()
        given = reason in self.session.station.reasons_given(child)
        if given or reason.value == standing.status.value:
            return Way(f"✓ {text}", lambda: self._take_back(child), chosen=True)
        if reason is Reason.EAR_PROBLEM:
            before = bool(self.session.station.reasons_given(child))

            def looked(allowed: bool, standing: Standing) -> None:
                self._looked(allowed, standing, before)

            return Way(f"{text} …", lambda: ear_signs.ask(self.session, child, looked))
        if reason is Reason.COULD_NOT_TEST:

            def noted(note: str) -> None:
                self._not_tested(child, reason, note)

            return Way(f"{text} …", lambda: could_not.ask(self.session, child, noted))
        return Way(text, lambda: self._not_tested(child, reason))

    def _looked(self, allowed: bool, standing: Standing, replaced: bool) -> None:
        if not allowed:
            self._note(standing.child, replaced)
            return
        self.changed()
        name = phrases.name_said(standing.person)
        self.session.tell(self.t("ear_sign.noted"), self.t("ear_sign.noted_words", name=name))

    def _not_tested(self, child: str, reason: Reason, note: str = "") -> None:
        replaced = bool(self.session.station.reasons_given(child))
        if self.guarded(lambda: self.session.station.not_tested(child, reason, note)):
            self._note(child, replaced)

    def _take_back(self, child: str) -> None:
        if self.guarded(lambda: self.session.station.take_back(child)):
            self._note(child, replaced=True)

    # -- what was noted, said until the next step ------------------------------------------------

    def _note(self, child: str, replaced: bool) -> None:
        """Say where the child stands now, for it may have left the part of the list that is shown.

        With nothing ``replaced`` it can be undone here: undoing takes back, and brings no earlier reason again.
        """
        standing = self.session.station.standing(child)
        name, status = phrases.name_said(standing.person), self.t(f"status.{standing.status.value}")
        self.noted = self.t("next_child.noted", name=name, status=status)
        self._undoes = "" if replaced else child
        self.changed()

    @property
    def may_undo(self) -> bool:
        """Whether what was noted last can be undone from its line."""
        return bool(self.noted and self._undoes)

    def undo(self) -> None:
        """Take back what was noted last."""
        if self.may_undo:
            self._take_back(self._undoes)

    def _forget_note(self) -> None:
        self.noted = self._undoes = ""

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
        rows, told = self._rows(), progress.tally
        rate, finish, sign = "", "", t("next_child.not_ready")
        if progress.per_hour is not None:
            rate = t(
                "next_child.rate",
                rate=round(progress.per_hour),
                time=phrases.clock_time(t, progress.finish_at),
            )
            finish = t("today.finish", time=phrases.clock_time(t, progress.finish_at))
        if ready.open:
            sign = t("next_child.ready_since", time=phrases.clock_time(t, ready.since))
        if ready.asked:
            sign = t("next_child.asked")
        empty = ""
        if not rows:
            empty = (
                t("next_child.no_match", typed=self.typed.upper()) if self.typed else t("next_child.nobody")
            )
        return ListView(
            about=t("next_child.about", level=level, tones=tones),
            sign=sign,
            closed=not ready.open,
            tiles=tuple(self._tiles(progress)),
            rows=[self._row(standing) for standing in rows],
            empty=empty,
            seen=t("next_child.screened", screened=told.screened, total=told.total),
            fraction=told.screened / told.total if told.total else 0.0,
            rate=rate,
            finish=finish,
            full=t("next_child.limit", count=LIMIT) if len(rows) >= LIMIT else "",
        )

    def _tiles(self, progress: Any) -> Any:
        t, key, searching = self.t, self.session.class_name, bool(self.typed)
        for count in self.session.station.classes():
            said = phrases.left(t, count.left)
            yield (
                count.name,
                count.name or t("next_child.no_class"),
                said,
                key == count.name and not searching,
            )
        everyone = phrases.left(t, progress.left)
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
            "name": phrases.name_found(standing, self.typed),
            "born": f"{person.class_name} · {born}" if everyone and person.class_name else born,
            "status": phrases.status_line(self.t, standing),
            "waiting": self.session.station.waits(standing),
        }
