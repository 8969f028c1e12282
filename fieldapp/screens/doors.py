"""The doors before a walk: every way to a child passes the same questions, whichever screen it comes from. No Kivy.

Which child may begin is the station's to say; here is only what the screener is asked first.
"""

from __future__ import annotations

from collections.abc import Callable

from fieldapp.screens import ear_signs, phrases
from fieldapp.screens.session import Session
from shared.errors import QuietbellError, Refused
from shared.records.entries import Reason
from shared.records.standing import Standing, Status

#: Why a child who has a result is walked once more.
AGAIN = ("station", "instructions", "slip")


class Doors:
    """``choose`` begins a child's walk, or asks why, or says why not. ``more`` opens the child's menu."""

    def __init__(self, session: Session, more: Callable[[str], None] | None = None) -> None:
        self.session = session
        self._more = more

    def choose(self, child: str) -> None:
        """Begin the child's walk, or say why not."""
        station = self.session.station
        standing = station.standing(child)
        if station.current is not None or station.thresholds.current is not None:
            self._ask_in_hand(child)
        elif not station.ready.open:
            self.closed()
        elif standing.status is Status.THRESHOLD:
            self.ask_threshold(child)
        elif standing.status in (Status.PASSED, Status.REFERRED, Status.CLOSED):
            self.ask_again(standing)
        elif self._ears_today(standing):
            self._say_ears(standing)
        elif standing.status in (Status.DECLINED, Status.UNDER_CARE):
            self._ask_all_the_same(standing)
        elif self._too_early(standing):
            self._say_too_early(standing)
        else:
            self.begin(child)

    def begin(self, child: str) -> bool:
        """Begin at once; a refusal is said."""
        return self._try(lambda: self.session.station.begin(child), "walk")

    def closed(self) -> None:
        """The station may not test: say why, and offer the check: the short one only where that is what will open."""
        t, go, ready = self.session.t, self.session.go, self.session.station.ready
        asked = self.session.station.short_check is not None
        doubted = bool(ready.asked and ready.missed)
        why = t("next_child.asked_why", missed=ready.missed, walked=ready.walked) if doubted else ""
        if asked:
            said = [why, t.sentence(ready.asked), t("next_child.asked_words")]
        else:
            said = [t.sentence(ready.why_closed) if ready.why_closed else t("next_child.closed_words"), why]
        self.session.ask(
            t("next_child.asked_title" if asked else "next_child.closed_title"),
            "\n".join(filter(None, said)),
            [
                (
                    t("next_child.asked_go" if asked else "next_child.closed_go"),
                    "accent",
                    lambda: go("readiness"),
                ),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def ask_threshold(self, child: str) -> None:
        """Which ear a threshold test begins with."""
        t = self.session.t
        ears = (("right", "right"), ("left", "left"), ("right", "unknown"))
        ways = [
            (t(f"threshold.{word}"), "quiet", lambda ear=ear: self._begin_threshold(child, ear))
            for ear, word in ears
        ]
        self.session.ask(
            t("threshold.first_ear"),
            t("threshold.first_ear_words"),
            [*ways, (t("sheet.back"), "back", lambda: None)],
        )

    def ask_again(self, standing: Standing) -> None:
        """Why a child who has a result is walked once more."""
        t = self.session.t
        name = phrases.name_said(standing.person)
        status = t(f"status.{standing.status.value}")
        ways = [
            (t(f"next_child.again_{why}"), "quiet", lambda why=why: self._again(standing.child, why))
            for why in AGAIN
        ]
        self.session.ask(
            t("next_child.has_result", name=name, status=status),
            t("next_child.has_result_words"),
            [*ways, (t("sheet.back"), "back", lambda: None)],
        )

    # -- the questions ---------------------------------------------------------------------------

    def _ask_in_hand(self, chosen: str) -> None:
        """A child is being tested: go on with that one first."""
        session, t = self.session, self.session.t
        current, testing = session.station.current, session.station.thresholds.current
        in_hand, screen = (current[0], "walk") if current is not None else (testing.child, "threshold")
        if in_hand == chosen:
            session.go(screen)
            return
        name = phrases.name_said(session.station.standing(in_hand).person)
        session.ask(
            t("next_child.in_hand", name=name),
            t("next_child.in_hand_words"),
            [
                (t("next_child.in_hand_go", name=name), "accent", lambda: session.go(screen)),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def _ears_today(self, standing: Standing) -> bool:
        return standing.status is Status.EAR_PROBLEM and standing.since[:10] == self._today()

    def _say_ears(self, standing: Standing) -> None:
        """No earphones on the day an ear problem was noted, save that it was noted by mistake."""
        session, t, child = self.session, self.session.t, standing.child
        seen = ear_signs.words(session, standing.signs, standing.ears)
        words = [
            t("next_child.ears_seen", seen=seen) if seen else "",
            standing.note,
            t("next_child.ears_words"),
        ]
        choices: list[tuple[str, str, Callable[[], object]]] = []
        if Reason.EAR_PROBLEM in session.station.reasons_given(child):
            choices.append((t("next_child.ears_mistake"), "quiet", lambda: self._ears_taken_back(child)))
        if self._more is not None:
            more = self._more
            choices.append((t("next_child.more"), "quiet", lambda: more(child)))
        session.ask(
            t("next_child.ears", name=phrases.name_said(standing.person)),
            "\n".join(filter(None, words)),
            [*choices, (t("sheet.back"), "back", lambda: None)],
        )

    def _ears_taken_back(self, child: str) -> None:
        if self._try(lambda: self.session.station.take_back(child)):
            self.choose(child)

    def _ask_all_the_same(self, standing: Standing) -> None:
        """The guardian declined, or the child is under care: no walk by a mere slip of the finger."""
        t, declined = self.session.t, standing.status is Status.DECLINED
        why = "declined" if declined else "under_care"
        begin = self._begin_with_consent if declined else self.begin
        self.session.ask(
            t(f"next_child.{why}", name=phrases.name_said(standing.person)),
            t(f"next_child.{why}_words"),
            [
                (t(f"next_child.{why}_go"), "quiet", lambda: begin(standing.child)),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def _begin_with_consent(self, child: str) -> None:
        """Consent came after all: the refusal is taken back once the walk has begun, where it is this tablet's."""
        if not self.begin(child):
            return
        try:
            self.session.station.take_back(child)
        except Refused:
            return  # given elsewhere: it stays beside the result, and the lead decides

    def _too_early(self, standing: Standing) -> bool:
        return (
            standing.status is Status.RESCREEN
            and standing.window is not None
            and self._today() < standing.window[0]
        )

    def _say_too_early(self, standing: Standing) -> None:
        """The first result stands until its rescreen is due, save for a reason."""
        t = self.session.t
        first = phrases.short_date(t, standing.window[0] if standing.window else "")
        self.session.ask(
            t("next_child.too_early", first=first),
            t("next_child.too_early_words", name=phrases.name_said(standing.person)),
            [
                (t("next_child.walk_again"), "quiet", lambda: self.ask_again(standing)),
                (t("sheet.back"), "back", lambda: None),
            ],
        )

    def _begin_threshold(self, child: str, ear: str) -> None:
        self._try(lambda: self.session.station.begin_threshold_test(child, first_ear=ear), "threshold")

    def _again(self, child: str, why: str) -> None:
        session = self.session
        self._try(lambda: session.station.begin(child, again=session.t(f"next_child.again_{why}")), "walk")

    def _today(self) -> str:
        return self.session.clock().date().isoformat()

    def _try(self, act: Callable[[], object], screen: str = "") -> bool:
        """Do it and go to a screen; a refusal is said, and nothing moves on."""
        try:
            act()
        except QuietbellError as error:
            self.session.trouble(error)
            return False
        if screen:
            self.session.go(screen)
        return True
