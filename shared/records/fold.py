"""The fold of one child: its entries, in stamp order, to its one ``Standing``. Rules of precedence live here.

The trade's rules (what a walk means, what follows a failed stage) are asked of ``shared.hearing``; this file
decides only which of several records speaks. Where two independent results disagree, the more cautious one
stands and the disagreement is named. Caution, most cautious first: referred, visible ear problem, threshold
test due, rescreen, could not test, passed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from shared.hearing.followup import StageResult, disposition
from shared.hearing.not_tested import age_on, could_not_test, ear_problem
from shared.hearing.protocol import Protocol
from shared.hearing.referral import ThresholdOutcome
from shared.records.entries import Entry, Kind, Reason
from shared.records.people import person_from
from shared.records.standing import (
    ExaminationNoted,
    Followup,
    Person,
    Screening,
    Standing,
    Status,
    ThresholdTest,
)
from shared.records.tests_done import read_examination, read_screening, read_threshold_test

# Among the reasons for not testing, the one that speaks when several were written.
_RANK = (Reason.ABSENT, Reason.DECLINED, Reason.UNDER_CARE, Reason.COULD_NOT_TEST, Reason.EAR_PROBLEM)
_CLOSING_STEPS = {"closed", "moved", "no-loss", "under-care", "declined", "lost"}


@dataclass(slots=True)
class _Events:
    """The entries of one child, sorted into what they are about."""

    listings: list[Entry] = field(default_factory=list)
    changes: list[Entry] = field(default_factory=list)
    begun: list[Entry] = field(default_factory=list)
    parts: dict[str, list[Entry]] = field(default_factory=dict)  # by screening or threshold test
    not_tested: list[Entry] = field(default_factory=list)
    observations: list[str] = field(default_factory=list)
    rulings: list[Entry] = field(default_factory=list)
    followups: list[Entry] = field(default_factory=list)
    examinations: list[Entry] = field(default_factory=list)
    papers: list[str] = field(default_factory=list)


_TEST_PARTS = {
    Kind.TONE_ANSWERED: "screening",
    Kind.EARPHONES_RESEATED: "screening",
    Kind.SCREENING_FINISHED: "screening",
    Kind.SCREENING_STOPPED: "screening",
    Kind.THRESHOLD_STEP: "test",
    Kind.THRESHOLD_FOUND: "test",
    Kind.THRESHOLD_FINISHED: "test",
}


_WITHDRAWS = {
    Kind.ANSWER_WITHDRAWN: "answer",
    Kind.STEP_WITHDRAWN: "step",
    Kind.DECISION_WITHDRAWN: "decision",
}


def fold_child(records: Sequence[str], entries: Iterable[Entry], protocol: Protocol) -> Standing:
    """Where the child known by ``records`` stands, from ``entries``, which may come in any order."""
    events = _sort_out(sorted(entries, key=lambda entry: (entry.stamp, entry.id)), set(records))
    lead, person, also = _who(events)
    screenings = _staged(_screenings(events, protocol), events)
    thresholds = _threshold_tests(events)
    examinations = _examinations(events)
    found = _found(events, screenings, thresholds)
    verdict = _verdict(events, person, screenings, thresholds, protocol, found)
    return Standing(
        child=lead,
        records=(lead, *sorted(set(records) - {lead})),
        person=person,
        status=verdict.status,
        since=verdict.since,
        why=verdict.why,
        screenings=screenings,
        governing=verdict.governing,
        thresholds=thresholds,
        note=verdict.note,
        signs=verdict.signs,
        ears=verdict.ears,
        observations=tuple(events.observations),
        examinations=examinations,
        followups=_followups(events.followups, examinations),
        window=verdict.window,
        disagreeing=verdict.disagreeing,
        ruled=verdict.ruled,
        papers=tuple(events.papers),
        also=also,
        found=found,
    )


def _sort_out(entries: Iterable[Entry], records: Collection[str]) -> _Events:
    events = _Events()
    entries = list(entries)
    withdrawn = {
        entry.body.get(_WITHDRAWS[entry.kind])
        for entry in entries
        if entry.kind in _WITHDRAWS and _may_withdraw(entry)
    }
    corrected = _corrected(entries)
    for entry in entries:
        if entry.id in withdrawn:
            continue
        match entry.kind:
            case kind if kind in _TEST_PARTS:
                part_of = str(entry.body.get(_TEST_PARTS[kind], ""))
                if _device_of(part_of) == entry.device:  # nobody answers in another tablet's test
                    events.parts.setdefault(part_of, []).append(entry)
            case Kind.CHILD_LISTED | Kind.CHILD_ADDED:
                events.listings.append(entry)
            case Kind.CHILD_CORRECTED | Kind.CHILD_LEFT:
                events.changes.append(entry)
            case Kind.SCREENING_BEGUN | Kind.THRESHOLD_BEGUN:
                events.begun.append(entry)
            case Kind.NOT_TESTED:
                events.not_tested.append(entry)
            case Kind.OBSERVATION:
                events.observations.append(str(entry.body.get("note", "")))
            case Kind.RESULT_RULED:
                events.rulings.append(entry)
            case Kind.FOLLOWUP_NOTED:
                events.followups.append(entry)
            case Kind.EXAMINATION_NOTED if entry.id not in corrected:
                events.examinations.append(entry)
            case Kind.PAPER_ISSUED:
                events.papers.append(_paper_number(entry, records))
            case _:
                pass
    return events


def _may_withdraw(entry: Entry) -> bool:
    """A tablet takes back what it wrote itself, and nobody else's; decisions are the lead's on any device."""
    taken_back = str(entry.body.get(_WITHDRAWS[entry.kind], ""))
    return entry.kind is Kind.DECISION_WITHDRAWN or _device_of(taken_back) == entry.device


def _device_of(entry_id: str) -> str:
    return entry_id.partition("@")[2].partition("~")[0]


def _corrected(entries: Sequence[Entry]) -> set[str]:
    """The examinations (entry ids) that a later one corrects.

    They stay corrected where the correction itself is withdrawn: whoever takes an audiogram out takes out the one
    that is shown, and no older typing of it comes back. Two corrections of one examination both stand.
    """
    noted = {entry.id: entry for entry in entries if entry.kind is Kind.EXAMINATION_NOTED}
    named = ((entry, noted.get(str(entry.body.get("replaces", "")))) for entry in noted.values())
    return {old.id for new, old in named if old is not None and (old.stamp, old.id) < (new.stamp, new.id)}


def _paper_number(issued: Entry, records: Collection[str]) -> str:
    """The number of the letter about this child, or of the list that the child is on."""
    numbers = issued.body.get("numbers")
    own = numbers if isinstance(numbers, dict) else {}
    return str(next((own[record] for record in records if record in own), issued.body.get("number", "")))


_FILLED = (
    *("born", "student_number", "grade", "class_name", "language", "guardian", "address"),
    *("due_reasons", "exemptions"),
)


def _who(events: _Events) -> tuple[str, Person, tuple[tuple[str, str], ...]]:
    """The leading record (a listed one before an added one, then the oldest), the child's person, and the names
    that its other records have for it."""
    order = sorted(events.listings, key=lambda e: (e.kind is not Kind.CHILD_LISTED, e.stamp, e.id))
    people = [
        person_from(listing, (c for c in events.changes if c.body.get("child") == listing.id))
        for listing in order
    ]
    if not people:
        return "", Person(given="", family=""), ()
    lead, *others = people
    # A joined record may know what the roster did not.
    filled = {
        name: next((value for other in others if (value := getattr(other, name))), empty)
        for name in _FILLED
        if not (empty := getattr(lead, name))
    }
    # A new number makes a new record of the same child: gone is only who is on no list any more.
    filled["left"] = all(person.left for person in people)
    names = dict.fromkeys((other.given, other.family) for other in others)
    names.pop((lead.given, lead.family), None)
    person = Person(**{**{n: getattr(lead, n) for n in Person.__slots__}, **filled})
    return order[0].id, person, tuple(names)


def _screenings(events: _Events, protocol: Protocol) -> tuple[Screening, ...]:
    return tuple(
        read_screening(entry, events.parts.get(entry.id, ()), protocol)
        for entry in events.begun
        if entry.kind is Kind.SCREENING_BEGUN
    )


def _threshold_tests(events: _Events) -> tuple[ThresholdTest, ...]:
    return tuple(
        read_threshold_test(entry, events.parts.get(entry.id, ()))
        for entry in events.begun
        if entry.kind is Kind.THRESHOLD_BEGUN
    )


#: Reasons for not testing that change where a child with a result stands.
_OUTSPOKEN = (Reason.DECLINED, Reason.UNDER_CARE, Reason.EAR_PROBLEM)


def _found(
    events: _Events, screenings: Sequence[Screening], thresholds: Sequence[ThresholdTest]
) -> tuple[str, ...]:
    """All that a person who decides about the child has to have seen, by entry id."""
    return (
        *(screening.id for screening in screenings if screening.passed is not None),
        *(test.id for test in thresholds if test.finished_at),
        *(entry.id for entry in events.not_tested if entry.body.get("reason") in _OUTSPOKEN),
    )


@dataclass(frozen=True, slots=True)
class _Verdict:
    status: Status
    since: str = ""
    why: str = ""
    governing: Screening | None = None
    note: str = ""
    signs: tuple[str, ...] = ()
    ears: tuple[str, ...] = ()
    window: tuple[str, str] | None = None
    disagreeing: tuple[str, ...] = ()
    ruled: bool = False


@dataclass(slots=True)
class _Stage:
    """The results of one stage: one planned test, or several independent ones of the same step."""

    results: list[Screening]

    @property
    def passed(self) -> bool:
        return all(screening.passed for screening in self.results)

    @property
    def governing(self) -> Screening:
        return next((s for s in reversed(self.results) if not s.passed), self.results[-1])

    @property
    def day(self) -> date:
        return _day(self.governing.begun_at)


def _verdict(
    events: _Events,
    person: Person,
    screenings: Sequence[Screening],
    thresholds: Sequence[ThresholdTest],
    protocol: Protocol,
    found: Collection[str],
) -> _Verdict:
    begun = {entry.id: entry for entry in events.begun}
    finished = [s for s in screenings if s.passed is not None]
    stages = _stages(screenings)
    verdict = _from_tests(stages, [t for t in thresholds if t.finished_at], protocol)
    verdict = _with_reasons(verdict, events.not_tested, finished, begun)
    verdict = _owed_without_result(verdict, person, protocol)
    verdict = _with_ruling(verdict, events.rulings, finished, found)
    return _with_closing(verdict, events.followups, finished, begun, found)


def _day(text: str) -> date:
    return date.fromisoformat(text[:10])


def _born(person: Person) -> date | None:
    """The birth date, where it is known and is one."""
    try:
        return date.fromisoformat(person.born)
    except ValueError:
        return None


def _iso(day: date) -> str:
    """ISO text; empty for a window that the rule leaves open."""
    return "" if day == date.max else day.isoformat()


def _staged(screenings: Sequence[Screening], events: _Events) -> tuple[Screening, ...]:
    """The screenings, each with the protocol's stage that it is a result of.

    Only a planned rescreen opens the stage after the one that it was made after: its screener knew of the first
    result. A walk repeated because the station was at fault replaces the one it names, in that one's stage. All
    others are independent results of the first stage, whatever their clocks say of days between them.
    """
    begun = {entry.id: entry.body for entry in events.begun}

    def stage_of(screening: str, depth: int = 0) -> int:
        replaced, after = (str(begun[screening].get(name, "")) for name in ("replaces", "after"))
        if depth > len(begun):  # entries that name each other in a ring come from other hands
            return 0
        if replaced in begun:
            return stage_of(replaced, depth + 1)
        return stage_of(after, depth + 1) + 1 if after in begun else 0

    finished = [screening.id for screening in screenings if screening.passed is not None]
    replaced = {str(begun[screening].get("replaces", "")) for screening in finished}
    return tuple(
        replace(screening, stage=stage_of(screening.id))
        if screening.passed is not None and screening.id not in replaced
        else screening
        for screening in screenings
    )


def _stages(screenings: Sequence[Screening]) -> list[_Stage]:
    """The stages that have results, in order."""
    stages: dict[int, _Stage] = {}
    for screening in screenings:
        if screening.stage is not None:
            stages.setdefault(screening.stage, _Stage([])).results.append(screening)
    return [stages[number] for number in sorted(stages)]


def _from_tests(
    stages: Sequence[_Stage], thresholds: Sequence[ThresholdTest], protocol: Protocol
) -> _Verdict:
    if not stages and not thresholds:
        return _Verdict(Status.NOT_SEEN)
    results = [StageResult(stage.day, stage.passed) for stage in stages]
    ruling = disposition(protocol, results, [_outcome(test) for test in thresholds])
    window = ruling.window and (_iso(ruling.window[0]), _iso(ruling.window[1]))
    governing = stages[-1].governing if stages else None
    ends = [test.finished_at for test in (*thresholds[-1:], *((governing,) if governing else ()))]
    return _Verdict(
        status=Status(ruling.status),
        since=max(ends),
        why=ruling.why,
        governing=governing,
        window=window,
        disagreeing=_disagreeing(stages),
    )


def _disagreeing(stages: Sequence[_Stage]) -> tuple[str, ...]:
    """The results of the newest stage, where they differ; an earlier difference was settled by the retest."""
    if not stages or len({screening.passed for screening in stages[-1].results}) < 2:
        return ()
    return tuple(screening.id for screening in stages[-1].results)


def _outcome(test: ThresholdTest) -> ThresholdOutcome:
    levels: dict[str, dict[int, int | None]] = {}
    for found in test.thresholds:
        levels.setdefault(found.ear, {})[found.hz] = found.threshold_db_hl
    return ThresholdOutcome(_day(test.begun_at), levels, test.disagreed)


def _with_reasons(
    verdict: _Verdict,
    not_tested: Sequence[Entry],
    finished: Sequence[Screening],
    begun: Mapping[str, Entry],
) -> _Verdict:
    """What the reasons for not testing change. A result outranks them, save a visible ear problem.

    A guardian's refusal or care elsewhere beside a result is a disagreement: the result stands until a person
    rules. A visible ear problem gives way only to a screening whose screener knew of it.
    """
    reasons = [entry for entry in not_tested if entry.body.get("reason") in set(Reason)]
    if not reasons:
        return verdict
    if finished:
        standing = [
            entry
            for entry in reasons
            if entry.body["reason"] == Reason.EAR_PROBLEM
            and not any(_knew_of(entry, begun[s.id]) for s in finished)
        ]
        odd = [e.id for e in reasons if e.body["reason"] in (Reason.DECLINED, Reason.UNDER_CARE)]
        odd += [e.id for e in standing if any(begun[s.id].history != e.history for s in finished)]
        if odd:
            results = tuple(s.id for s in finished if s.id not in verdict.disagreeing)
            verdict = replace(verdict, disagreeing=(*verdict.disagreeing, *results, *odd))
        if not standing or verdict.status is Status.REFERRED:
            return verdict
        reasons = standing
    spoken = max(reasons, key=lambda entry: (_RANK.index(Reason(entry.body["reason"])), entry.stamp))
    return replace(
        verdict,
        status=Status(spoken.body["reason"]),
        since=spoken.at,
        why="",
        note=str(spoken.body.get("note", "")),
        signs=_texts(spoken.body.get("signs")),
        ears=_texts(spoken.body.get("ears")),
    )


def _knew_of(noted: Entry, begun: Entry) -> bool:
    """Whether a screening was begun in the knowledge of what was noted before.

    It says so itself; before 2026-12 it did not, and then only the same tablet's own later day tells: days of two
    tablets may be a wrong clock's.
    """
    knowing = begun.body.get("knowing")
    if isinstance(knowing, list):
        return noted.id in knowing
    return noted.history == begun.history and noted.at[:10] < begun.at[:10]


def _texts(told: object) -> tuple[str, ...]:
    return tuple(map(str, told)) if isinstance(told, list) else ()


def _owed_without_result(verdict: _Verdict, person: Person, protocol: Protocol) -> _Verdict:
    """What the protocol owes a child who could not be tested, or whose ears forbade it."""
    if verdict.status is Status.COULD_NOT_TEST:
        day = _day(verdict.since)
        born = _born(person)
        age = age_on(born, day) if born is not None else None
        owed = could_not_test(protocol, day, age)
        window = owed.window and (_iso(owed.window[0]), _iso(owed.window[1]))
        return replace(verdict, why=owed.why, window=window)
    if verdict.status is Status.EAR_PROBLEM:
        return replace(verdict, why=ear_problem(verdict.signs).why)
    return verdict


def _in_sight(decision: Entry, found: Collection[str]) -> bool | None:
    """Whether a person decided in sight of just what was found of the child: no less, and nothing that is another
    child's since two records were taken apart. None where the entry does not say (before 2026-12)."""
    told = decision.body.get("found")
    return set(map(str, told)) == set(found) if isinstance(told, list) else None


def _with_ruling(
    verdict: _Verdict, rulings: Sequence[Entry], finished: Sequence[Screening], found: Collection[str]
) -> _Verdict:
    """A person's ruling stands as long as it was made in sight of every result there is."""
    if not rulings:
        return verdict
    ruling = rulings[-1]
    in_sight = _in_sight(ruling, found)
    if in_sight is None:
        in_sight = {s.id for s in finished} == set(map(str, ruling.body.get("seen", ())))
    if not in_sight:
        return verdict
    if ruling.body.get("status") not in set(Status):
        return verdict
    status = Status(ruling.body["status"])
    keeps_window = status is verdict.status
    return replace(
        verdict,
        status=status,
        since=ruling.at,
        why=str(ruling.body.get("why", "")) or "ruled by the team lead",
        window=verdict.window if keeps_window else None,
        disagreeing=(),
        ruled=True,
    )


def _with_closing(
    verdict: _Verdict,
    followups: Sequence[Entry],
    finished: Sequence[Screening],
    begun: Mapping[str, Entry],
    found: Collection[str],
) -> _Verdict:
    """A follow-up step that ends the case closes it, until something is found that nobody saw then."""
    closing = [entry for entry in followups if entry.body.get("step") in _CLOSING_STEPS]
    if not closing:
        return verdict
    last = closing[-1]
    in_sight = _in_sight(last, found)
    if in_sight is None:
        in_sight = not any(begun[s.id].stamp > last.stamp for s in finished)
    if not in_sight:
        return verdict
    return replace(verdict, status=Status.CLOSED, since=last.at, why=str(last.body["step"]), window=None)


def _examinations(events: _Events) -> tuple[ExaminationNoted, ...]:
    """The examiners' audiograms that stand, by the day of the examination."""
    read = (read_examination(entry) for entry in events.examinations)
    return tuple(sorted(filter(None, read), key=lambda each: each.examination.examined))


def _followups(steps: Sequence[Entry], examinations: Sequence[ExaminationNoted]) -> tuple[Followup, ...]:
    """The steps of the follow-up by the day they were taken; an audiogram that came back is findings that came back."""
    found = [_followup(entry) for entry in steps]
    found += [Followup("findings", each.day, each.examination.note, each.author) for each in examinations]
    return tuple(sorted(found, key=lambda step: step.day))


def _followup(entry: Entry) -> Followup:
    body = entry.body
    return Followup(
        step=str(body.get("step", "")),
        day=str(body.get("day", "")) or entry.at[:10],
        note=str(body.get("note", "")),
        author=entry.author,
    )
