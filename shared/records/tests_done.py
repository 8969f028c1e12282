"""One test, read back from its entries: a screening walk, a threshold test, an examiner's audiogram. No precedence."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from functools import lru_cache

from shared.errors import Refused
from shared.hearing.examination import Examination
from shared.hearing.protocol import Protocol
from shared.hearing.tone_walk import Action, ToneWalk, WalkRefused
from shared.records.entries import Entry, Kind
from shared.records.standing import Answer, ExaminationNoted, Screening, Threshold, ThresholdTest


def walk_of(begun: Entry, parts: Iterable[Entry], protocol: Protocol) -> ToneWalk:
    """The tone walk that a begun screening and its standing entries (in order) have reached.

    An action that the rules refuse is passed over; it can only come from a file made by other hands.
    """
    body = begun.body
    actions = tuple(action for entry in parts if (action := _action(entry)) is not None)
    drop = tuple(map(int, body.get("drop", ())))
    return _walked(protocol, str(body.get("grade", "")), int(body.get("level_db_hl", 20)), drop, actions)


def _action(entry: Entry) -> Action | None:
    if entry.kind is Kind.TONE_ANSWERED:
        return Action.HEARD if entry.body.get("heard") else Action.NO_RESPONSE
    return Action.RESEAT if entry.kind is Kind.EARPHONES_RESEATED else None


@lru_cache(maxsize=2048)  # most children of a day answer alike, and a walk never changes
def _walked(
    protocol: Protocol, grade: str, permitted: int, drop: tuple[int, ...], actions: tuple[Action, ...]
) -> ToneWalk:
    walk = ToneWalk.begin(protocol, grade=grade, permitted=permitted, drop=drop)
    for action in actions:
        with suppress(WalkRefused):
            walk = walk.take(action)
    return walk


def read_screening(begun: Entry, parts: Iterable[Entry], protocol: Protocol) -> Screening:
    """The screening that ``begun`` opened. A whole walk counts although nobody closed it (a dead tablet)."""
    parts = list(parts)
    walk = walk_of(begun, parts, protocol)
    stopped = any(entry.kind is Kind.SCREENING_STOPPED for entry in parts)
    counts = walk.may_finish and not stopped
    closing = [entry.at for entry in parts if entry.kind is Kind.SCREENING_FINISHED]
    tones = [entry for entry in parts if entry.kind is Kind.TONE_ANSWERED]
    ends = (closing or [entry.at for entry in tones[-1:]]) if counts else [""]
    answers: list[Answer] = []
    again = 1
    for entry in parts:
        if entry.kind is Kind.EARPHONES_RESEATED:
            again = 2
        elif entry.kind is Kind.TONE_ANSWERED:
            answers.append(_answer(entry, again))
    return Screening(
        id=begun.id,
        device=begun.device,
        author=begun.author,
        begun_at=begun.at,
        finished_at=ends[-1] if ends else "",
        answers=tuple(answers),
        reseated=walk.reseated,
        passed=bool(walk.passed) if counts else None,
        missed=walk.missed,
        stopped=stopped,
    )


def _answer(entry: Entry, walk: int) -> Answer:
    body = entry.body
    return Answer(
        entry=entry.id,
        ear=str(body.get("ear", "")),
        hz=int(body.get("hz", 0)),
        level_db_hl=int(body.get("level_db_hl", 0)),
        heard=bool(body.get("heard")),
        at=entry.at,
        device=entry.device,
        walk=walk,
        presentations=int(body.get("presentations", 0)),
    )


def read_threshold_test(begun: Entry, parts: Iterable[Entry]) -> ThresholdTest:
    """The threshold test that ``begun`` opened; a frequency found again replaces its first finding."""
    parts = list(parts)
    found: dict[tuple[str, int], Threshold] = {}
    for entry in parts:
        if entry.kind is Kind.THRESHOLD_FOUND:
            body = entry.body
            level = body.get("threshold_db_hl")
            key = (str(body.get("ear", "")), int(body.get("hz", 0)))
            found[key] = Threshold(
                *key, None if level is None else int(level), int(body.get("limit_db_hl", 0))
            )
    steps = tuple(
        (
            str(e.body.get("ear", "")),
            int(e.body.get("hz", 0)),
            int(e.body.get("level_db_hl", 0)),
            bool(e.body.get("heard")),
        )
        for e in parts
        if e.kind is Kind.THRESHOLD_STEP
    )
    ends = [entry for entry in parts if entry.kind is Kind.THRESHOLD_FINISHED]
    return ThresholdTest(
        begun.id,
        begun.device,
        begun.author,
        begun.at,
        ends[-1].at if ends else "",
        tuple(found.values()),
        steps,
        _disagreed(ends[-1].body.get("disagreed")) if ends else (),
    )


def _disagreed(told: object) -> tuple[tuple[str, int], ...]:
    """The tones (ear, hz) that a finished test says are not reliable; none where it does not say."""
    pairs = told if isinstance(told, list) else []
    return tuple(
        (str(p[0]), p[1]) for p in pairs if isinstance(p, list) and len(p) == 2 and type(p[1]) is int
    )


#: What the entry of an examination says beside the examination itself.
_ABOUT_EXAMINATION = ("child", "day", "replaces")


def read_examination(noted: Entry) -> ExaminationNoted | None:
    """The examiner's audiogram that an entry holds; None where it breaks the rules (a file made by other hands)."""
    body = {name: value for name, value in noted.body.items() if name not in _ABOUT_EXAMINATION}
    try:
        examination = Examination.from_dict(body)
    except Refused:
        return None
    day = str(noted.body.get("day", "")) or noted.at[:10]
    return ExaminationNoted(noted.id, noted.at, noted.author, day, examination)
