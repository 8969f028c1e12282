"""A child's threshold test on one tablet: each presentation durable, the search and the plan replayed from entries.

The procedure is ``shared.hearing.threshold`` and ``threshold_plan``; here is only what is written and read.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from fieldapp.services.in_hand import begun_here, not_withdrawn
from fieldapp.services.ledger import Draft, Ledger
from shared.errors import Refused
from shared.hearing.threshold import Result, ThresholdSearch
from shared.hearing.threshold_plan import ThresholdPlan
from shared.records.entries import Entry, Kind


@dataclass(frozen=True, slots=True)
class ThresholdInHand:
    """A test under way: ``search`` is the tone in hand (None: every tone is found), ``plan`` all found so far."""

    child: str
    plan: ThresholdPlan
    search: ThresholdSearch | None
    given: int  # presentations that stand, in the whole test


class ThresholdTesting:
    """The threshold test in hand on this device, if any."""

    def __init__(self, ledger: Ledger) -> None:
        self._ledger = ledger

    @property
    def current(self) -> ThresholdInHand | None:
        """The test in hand, also after a crash."""
        begun = self._begun()
        return None if begun is None else self._reached(begun, self._steps(begun))

    @property
    def under_way(self) -> bool:
        """Whether a test was begun here and not finished."""
        return self._begun() is not None

    def must_have_free_hands(self) -> None:
        """Raise ``Refused`` where a threshold test is under way."""
        if self.under_way:
            raise Refused("Another threshold test is under way.", todo="Finish or stop that one first.")

    def begin(self, child: str, *, first_ear: str) -> ThresholdInHand:
        """Begin a test; raises ``Refused`` where one is under way."""
        self.must_have_free_hands()
        ThresholdPlan.for_protocol(self._ledger.register.protocol, first_ear=first_ear)
        (begun,) = self._ledger.write((Kind.THRESHOLD_BEGUN, {"child": child, "first_ear": first_ear}))
        return self._reached(begun, [])

    def answer(self, heard: bool, *, level: int | None = None) -> ThresholdInHand:
        """Record one presentation at the proposed level, or at the one really given (dB HL)."""
        begun, now = self._in_hand()
        if now.search is None:
            raise Refused("Every tone of this test is found.", todo="Finish the test.")
        given = now.search.level if level is None else level
        now.search.take(heard, level=given)  # refuses what has no place, before anything is written
        self._ledger.write(self._step(begun, now.search.ear, now.search.hz, given, heard))
        return self._reached(begun, self._steps(begun))

    def undo(self) -> ThresholdInHand:
        """Withdraw the newest presentation; without one, nothing changes."""
        begun, now = self._in_hand()
        steps = self._steps(begun)
        if not steps:
            return now
        withdrawn = {"child": now.child, "test": begun.id, "step": steps[-1].id}
        self._ledger.write((Kind.STEP_WITHDRAWN, withdrawn))
        return self._reached(begun, steps[:-1])

    def tone_script(self, ear: str, hz: int, steps: Iterable[tuple[int, bool]]) -> ThresholdInHand:
        """A whole search at once, in whatever order of tones; recorded whole or not at all."""
        begun, _ = self._in_hand()
        steps = list(steps)
        self.check_script(ear, hz, steps)
        self._ledger.write(*(self._step(begun, ear, hz, level, heard) for level, heard in steps))
        return self._reached(begun, self._steps(begun))

    def check_script(self, ear: str, hz: int, steps: Iterable[tuple[int, bool]]) -> None:
        """Raise ``Refused`` unless the steps are a whole search by the protocol's procedure."""
        plan = ThresholdPlan.for_protocol(self._ledger.register.protocol)
        search = ThresholdSearch.replay(ear, hz, steps, limit=plan.limit, procedure=plan.procedure)
        if search.result is Result.OPEN:
            raise Refused(
                f"The steps at {ear} {hz} Hz do not reach a threshold.",
                todo=f"Go on; the next level would be {search.level} dB HL.",
            )

    def finish(self) -> ThresholdInHand:
        """Close the test and write down the threshold that stands for every tone found."""
        begun, now = self._in_hand()
        found: list[Draft] = [
            (
                Kind.THRESHOLD_FOUND,
                {
                    "child": now.child,
                    "test": begun.id,
                    "ear": ear,
                    "hz": hz,
                    "threshold_db_hl": one.threshold_db_hl,
                    "limit_db_hl": one.limit_db_hl,
                },
            )
            for ear, tones in now.plan.thresholds().items()
            for hz, one in tones.items()
        ]
        closing = {"child": now.child, "test": begun.id}
        disagreed = [list(tone) for tone in now.plan.disagreed]
        told = {"disagreed": disagreed} if disagreed else {}
        self._ledger.write(*found, (Kind.THRESHOLD_FINISHED, {**closing, **told}))
        return now

    def _begun(self) -> Entry | None:
        return begun_here(self._ledger, Kind.THRESHOLD_BEGUN, (Kind.THRESHOLD_FINISHED,), named="test")

    def _in_hand(self) -> tuple[Entry, ThresholdInHand]:
        begun = self._begun()
        if begun is None:
            raise Refused("No threshold test is under way.", todo="Choose a child first.")
        return begun, self._reached(begun, self._steps(begun))

    def _steps(self, begun: Entry) -> list[Entry]:
        about = self._ledger.register.about(str(begun.body["child"]))
        standing = not_withdrawn(about, (Kind.THRESHOLD_STEP,), by=Kind.STEP_WITHDRAWN, naming="step")
        return [entry for entry in standing if entry.body.get("test") == begun.id]

    def _step(self, begun: Entry, ear: str, hz: int, level: int | None, heard: bool) -> Draft:
        place = {"child": begun.body["child"], "test": begun.id, "ear": ear, "hz": hz}
        return (Kind.THRESHOLD_STEP, {**place, "level_db_hl": level, "heard": heard})

    def _reached(self, begun: Entry, steps: Iterable[Entry]) -> ThresholdInHand:
        """Replay: consecutive steps at one tone are one search, until it has its result."""
        first_ear = str(begun.body.get("first_ear", "right"))
        plan = ThresholdPlan.for_protocol(self._ledger.register.protocol, first_ear=first_ear)
        search: ThresholdSearch | None = None
        given = 0
        for entry in steps:
            body = entry.body
            ear, hz = str(body["ear"]), int(body["hz"])
            if search is None or (search.ear, search.hz) != (ear, hz):
                search = ThresholdSearch.begin(ear, hz, limit=plan.limit, procedure=plan.procedure)
            search = search.take(bool(body["heard"]), level=int(body["level_db_hl"]))
            given += 1
            if search.result is not Result.OPEN:
                plan, search = plan.take(search), None
        return ThresholdInHand(str(begun.body["child"]), plan, search or plan.search(), given)
