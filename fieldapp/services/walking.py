"""A child's tone walk on one tablet: begun, answered tap by tap, undone, finished, broken off or walked by a script.

The order of the tones is ``shared.hearing.tone_walk``'s; here is only who may be walked and what is written.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from fieldapp.services.in_hand import begun_here, not_withdrawn
from fieldapp.services.ledger import Draft, Ledger
from fieldapp.services.readying import Readying
from fieldapp.services.roll import standing_on_list
from fieldapp.services.threshold_test import ThresholdTesting
from fieldapp.services.watching import Watching
from shared.errors import Refused
from shared.hearing.tone_walk import Action, ToneWalk
from shared.records.entries import Entry, Kind, Reason
from shared.records.standing import Standing, Status
from shared.records.tests_done import walk_of

_WALK_KINDS = (Kind.TONE_ANSWERED, Kind.EARPHONES_RESEATED)
_ENDS = (Kind.SCREENING_FINISHED, Kind.SCREENING_STOPPED)


class Walking:
    """The walk in hand on this device, if any."""

    def __init__(
        self, ledger: Ledger, readying: Readying, watching: Watching, thresholds: ThresholdTesting
    ) -> None:
        self._ledger = ledger
        self._readying = readying
        self._watching = watching
        self._thresholds = thresholds

    @property
    def current(self) -> tuple[str, ToneWalk] | None:
        """The child being screened on this tablet and its walk, also after a crash; or None."""
        begun = self._begun()
        return None if begun is None else (str(begun.body["child"]), self._reached(begun))

    def must_have_free_hands(self) -> None:
        """Raise ``Refused`` where a child is being screened."""
        if self._begun() is not None:
            raise Refused("Another child is being screened.", todo="Finish or stop that child first.")

    def begin(self, child: str, *, again: str = "") -> ToneWalk:
        """Begin a child's walk.

        ``again``: why a child is walked once more although its result stands (a station fault, say); the
        result of the faulty walk is then replaced. Raises ``Refused`` where the station is not ready, another
        child is in hand, the child has its result, or its rescreen is not due yet.
        """
        self._readying.must_be_open()
        self.must_have_free_hands()
        self._thresholds.must_have_free_hands()
        standing = self._standing(child)
        ready = self._readying.ready
        body: dict[str, Any] = {
            "child": child,
            "level_db_hl": ready.level_db_hl,
            "drop": list(ready.drop),
            "grade": standing.person.grade,
            **self._purpose(standing, again),
            "knowing": list(standing.found),
        }
        (begun,) = self._ledger.write((Kind.SCREENING_BEGUN, body))
        return self._reached(begun)

    def _purpose(self, standing: Standing, again: str) -> dict[str, Any]:
        """Which walk of the child this is, in the entry's words; raises ``Refused`` where none is allowed."""
        governing = standing.governing
        today = self._today()
        if standing.status is Status.EAR_PROBLEM and standing.since[:10] == today:
            raise Refused(
                "An ear problem was noted for this child today: no earphones.",
                kept="The child is on the medical list.",
                todo="If it was noted by mistake, take it back first.",
            )
        if again.strip():
            replaces = {"replaces": governing.id} if governing else {}
            return {"purpose": "again", "why": again.strip(), **replaces}
        if governing is None or standing.status is Status.NOT_SEEN:
            return {"purpose": "first"}
        if standing.status is Status.RESCREEN:
            opens = standing.window[0] if standing.window else ""
            if today < opens and opens != governing.begun_at[:10]:
                raise Refused(
                    f"The rescreen is not due before {opens}.",
                    kept="The first result stands.",
                    todo="Choose another child.",
                )
            return {"purpose": "rescreen", "after": governing.id}
        raise Refused(
            f"This child has its result already: {standing.status.value}.",
            kept="The result stands.",
            todo="To walk the child again, say why.",
        )

    def answer(self, heard: bool, presentations: int = 0) -> ToneWalk:
        """Record the answer to the tone in hand; durable when this returns.

        ``presentations``: how often the tone was given, where that was counted (0: not).
        """
        begun, walk = self._in_hand()
        step = walk.step
        following = walk.take(Action.HEARD if heard else Action.NO_RESPONSE)
        assert step is not None
        body: dict[str, Any] = {
            **_names(begun),
            "ear": step.ear,
            "hz": step.hz,
            "level_db_hl": step.level_db_hl,
            "heard": heard,
        }
        if presentations:
            body["presentations"] = presentations
        self._ledger.write((Kind.TONE_ANSWERED, body))
        return following

    def reseat(self) -> ToneWalk:
        """Record that the earphones were reseated: the whole walk is walked again."""
        begun, walk = self._in_hand()
        following = walk.take(Action.RESEAT)
        self._ledger.write((Kind.EARPHONES_RESEATED, _names(begun)))
        return following

    def undo(self) -> ToneWalk:
        """Withdraw the newest answer or reseat of the child in hand; without one, nothing changes."""
        begun, walk = self._in_hand()
        parts = self._standing_parts(begun)
        if not parts:
            return walk
        self._ledger.write((Kind.ANSWER_WITHDRAWN, {**_names(begun), "answer": parts[-1].id}))
        return walk_of(begun, parts[:-1], self._ledger.register.protocol)

    def finish(self) -> Standing:
        """Close the walk of the child in hand and say where the child now stands."""
        begun, walk = self._in_hand()
        if not walk.may_finish:
            raise Refused("There are tones left to present.", todo="Finish the walk, or stop this child.")
        self._ledger.write((Kind.SCREENING_FINISHED, _names(begun)))
        self._watching.look()
        self._ledger.tidy()
        return self._standing(str(begun.body["child"]))

    def stop(self, reason: Reason | None = None, note: str = "", **seen: Sequence[str]) -> Standing:
        """Break off the child in hand: with a reason it is recorded, without one the child is not seen.

        ``seen``: the ``signs`` of an ear problem and the ``ears`` that show them.
        """
        begun, _ = self._in_hand()
        child = str(begun.body["child"])
        stopped: Draft = (Kind.SCREENING_STOPPED, {**_names(begun), "why": str(reason or note)})
        self._ledger.write(stopped, *([not_tested(child, reason, note, seen)] if reason is not None else []))
        return self._standing(child)

    def script(self, child: str, answers: str, *, again: str = "") -> Standing:
        """A whole walk at once: ``+`` heard, ``-`` no response, ``/`` reseated. Recorded whole or not at all."""
        self._readying.must_be_open()
        standing = self._standing(child)
        self._purpose(standing, again)
        self._must_be_whole(answers, standing.person.grade)
        self.begin(child, again=again)
        for sign in answers:
            if sign == Action.RESEAT:
                self.reseat()
            else:
                self.answer(sign == Action.HEARD)
        return self.finish()

    def _must_be_whole(self, answers: str, grade: str) -> None:
        """Walk the answers in the air; raises ``Refused`` where they have no place or leave tones over."""
        ready = self._readying.ready
        walk = ToneWalk.begin(
            self._ledger.register.protocol, grade=grade, permitted=ready.level_db_hl or 20, drop=ready.drop
        )
        for place, sign in enumerate(answers, 1):
            if sign not in set(Action):
                raise Refused(f"Answer {place} is neither +, - nor /.", todo="Correct the line.")
            walk = walk.take(Action(sign))
        if not walk.may_finish:
            raise Refused(
                f"The walk is not whole: {len(answers)} answers were given and tones are left.",
                todo="Give an answer for every tone of the protocol, in its order.",
            )

    def _begun(self) -> Entry | None:
        return begun_here(self._ledger, Kind.SCREENING_BEGUN, _ENDS, named="screening")

    def _in_hand(self) -> tuple[Entry, ToneWalk]:
        begun = self._begun()
        if begun is None:
            raise Refused("No child is being screened.", todo="Choose a child first.")
        return begun, self._reached(begun)

    def _reached(self, begun: Entry) -> ToneWalk:
        return walk_of(begun, self._standing_parts(begun), self._ledger.register.protocol)

    def _standing_parts(self, begun: Entry) -> list[Entry]:
        about = self._ledger.register.about(str(begun.body["child"]))
        standing = not_withdrawn(about, _WALK_KINDS, by=Kind.ANSWER_WITHDRAWN, naming="answer")
        return [entry for entry in standing if entry.body.get("screening") == begun.id]

    def _standing(self, child: str) -> Standing:
        return standing_on_list(self._ledger.register, child)

    def _today(self) -> str:
        return self._ledger.clock.now().date().isoformat()


def _names(begun: Entry) -> dict[str, Any]:
    """The child and the screening that every entry of a walk names."""
    return {"child": begun.body["child"], "screening": begun.id}


def not_tested(child: str, reason: Reason, note: str, seen: Mapping[str, Sequence[str]]) -> Draft:
    """The entry that says why a child was not tested."""
    return (
        Kind.NOT_TESTED,
        {"child": child, "reason": reason.value, "note": note.strip(), **what_was_seen(seen)},
    )


def what_was_seen(seen: Mapping[str, Sequence[str]]) -> dict[str, list[str]]:
    """What was said of an ear, without what was not."""
    return {name: list(told) for name, told in seen.items() if told}
