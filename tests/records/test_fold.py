"""Where a child stands, from small histories; and that the order in which entries come never matters.

The outcome rule (any tone missed in either ear after the same-session retest does not pass) is the summary
"Pure tone screening" of the AAA Childhood Hearing Screening Guidelines, 2011; that a planned rescreen
supersedes and an unplanned one does not is this project's own invariant 4.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shared.records.entries import Kind
from shared.records.register import Register
from shared.records.standing import Status
from tests.facts import FAIL
from tests.records import reference_merge

REPLY = {"examined": "2026-11-30", "right": {"air": {"1000": 30}}}
PASS = "++++++"


def register_of(*devices, extra=()):
    register = Register()
    for device in devices:
        register.add(device.written)
    register.add(extra)
    return register


def passed_in(register):
    return sum(standing.status is Status.PASSED for standing in register.standings())


@pytest.fixture
def book(device):
    book = device("book")
    book.prepare()
    return book


def tablet_of(device, book, name, **more):
    tablet = device(name, **more)
    tablet.hears_of(book)
    return tablet


def test_a_listed_child_is_not_seen(book):
    child = book.lists()
    assert register_of(book).standing(child).status is Status.NOT_SEEN


def test_six_answers_pass_and_a_miss_with_its_retest_is_on_the_rescreen_list(book, device):
    passing, failing, saved = book.lists(), book.lists("Ben"), book.lists("Cy")
    tablet = tablet_of(device, book, "a")
    tablet.screens(passing)
    tablet.screens(failing, FAIL)
    tablet.screens(saved, "++-+++/++++++")
    register = register_of(book, tablet)
    assert register.standing(passing).status is Status.PASSED
    standing = register.standing(failing)
    assert standing.status is Status.RESCREEN
    assert standing.window == ("2026-10-28", "2026-11-25")
    assert standing.governing is not None and standing.governing.missed == (("right", 4000),)
    assert register.standing(saved).status is Status.PASSED
    assert passed_in(register) == 2


def test_a_whole_walk_counts_although_the_tablet_died_before_it_was_closed(book, device):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    tablet.screens(child, FAIL)
    assert tablet.written[-1].kind is Kind.SCREENING_FINISHED
    tablet.written.pop()
    assert register_of(book, tablet).standing(child).status is Status.RESCREEN


def test_a_walk_without_all_its_tones_has_no_result(book, device):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    tablet.screens(child, "+++-")
    standing = register_of(book, tablet).standing(child)
    assert standing.status is Status.NOT_SEEN
    assert len(standing.screenings[0].answers) == 4


def test_a_withdrawn_answer_is_not_counted_but_not_lost(book, device):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    screening = tablet.screens(child, "+++++-")
    miss = next(e for e in tablet.written if e.kind is Kind.TONE_ANSWERED and not e.body["heard"])
    tablet.written = [e for e in tablet.written if e.kind is not Kind.SCREENING_FINISHED]
    tablet.write(Kind.ANSWER_WITHDRAWN, child=child, screening=screening, answer=miss.id)
    tablet.write(Kind.TONE_ANSWERED, **{**miss.body, "heard": True})
    register = register_of(book, tablet)
    assert register.standing(child).status is Status.PASSED
    assert register.entry(miss.id) == miss


def test_independent_results_that_disagree_stay_cautious_and_raise_a_doubt(book, device):
    child = book.lists()
    first, second = tablet_of(device, book, "a"), tablet_of(device, book, "b")
    failed, passed = first.screens(child, FAIL), second.screens(child, PASS)
    standing = register_of(book, first, second).standing(child)
    assert standing.status is Status.RESCREEN
    assert set(standing.disagreeing) == {failed, passed}


def test_agreeing_duplicates_count_once(book, device):
    child = book.lists()
    first, second = tablet_of(device, book, "a"), tablet_of(device, book, "b")
    first.screens(child)
    second.screens(child)
    register = register_of(book, first, second)
    assert passed_in(register) == 1
    assert register.standing(child).disagreeing == ()


@pytest.mark.parametrize(
    ("days", "status"),
    [
        (0, Status.RESCREEN),
        (13, Status.RESCREEN),
        (14, Status.PASSED),
        (42, Status.PASSED),
        (60, Status.PASSED),
    ],
)
def test_a_planned_rescreen_supersedes_from_the_first_day_of_its_window(book, device, days, status):
    child = book.lists()
    first = tablet_of(device, book, "a")
    failed = first.screens(child, FAIL)
    later = tablet_of(device, book, "b", start=first.now + timedelta(days=days))
    later.screens(child, purpose="rescreen", after=failed)
    standing = register_of(book, first, later).standing(child)
    assert standing.status is status
    assert standing.disagreeing == ()


@pytest.mark.parametrize("days", [-366, -1, 0, 14, 21, 366])
def test_no_clock_turns_an_independent_pass_into_a_rescreen(book, device, days):
    child = book.lists()
    first = tablet_of(device, book, "a")
    first.screens(child, FAIL)
    other = tablet_of(device, book, "b", start=first.now + timedelta(days=days))
    other.screens(child)
    standing = register_of(book, first, other).standing(child)
    assert standing.status is Status.RESCREEN
    assert standing.disagreeing


def test_a_planned_rescreen_settles_an_earlier_disagreement(book, device):
    child = book.lists()
    first, other = tablet_of(device, book, "a"), tablet_of(device, book, "b")
    failed = first.screens(child, FAIL)
    other.screens(child)
    later = tablet_of(device, book, "c", start=first.now + timedelta(days=20))
    assert register_of(book, first, other).standing(child).disagreeing
    later.screens(child, purpose="rescreen", after=failed)
    standing = register_of(book, first, other, later).standing(child)
    assert standing.status is Status.PASSED
    assert standing.disagreeing == ()


def test_two_rescreens_of_one_failure_are_one_stage(book, device):
    child = book.lists()
    first = tablet_of(device, book, "a")
    failed = first.screens(child, FAIL)
    rescreens = [tablet_of(device, book, name, start=first.now + timedelta(days=20)) for name in "bc"]
    for tablet, answers in zip(rescreens, (PASS, FAIL), strict=True):
        tablet.screens(child, answers, purpose="rescreen", after=failed)
    standing = register_of(book, first, *rescreens).standing(child)
    assert standing.status is Status.REFERRED
    assert len(standing.disagreeing) == 2


def test_missing_the_rescreen_too_is_a_referral(book, device):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    failed = tablet.screens(child, FAIL)
    tablet.now += timedelta(days=21)
    tablet.screens(child, FAIL, purpose="rescreen", after=failed)
    assert register_of(book, tablet).standing(child).status is Status.REFERRED


def test_a_walk_repeated_for_a_faulty_station_replaces_the_faulty_one(book, device):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    faulty = tablet.screens(child, FAIL)
    tablet.screens(child, PASS, purpose="again", replaces=faulty)
    standing = register_of(book, tablet).standing(child)
    assert standing.status is Status.PASSED
    assert standing.disagreeing == ()


@pytest.mark.parametrize("reason", ["absent", "declined", "under-care", "could-not-test", "ear-problem"])
def test_a_reason_for_not_testing_is_the_status_and_can_be_taken_back(book, device, reason):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    noted = tablet.write(Kind.NOT_TESTED, child=child, reason=reason)
    assert register_of(book, tablet).standing(child).status == reason
    tablet.write(Kind.ANSWER_WITHDRAWN, child=child, answer=noted.id)
    assert register_of(book, tablet).standing(child).status is Status.NOT_SEEN


@pytest.mark.parametrize("reason", ["absent", "declined", "under-care", "could-not-test"])
def test_no_reason_takes_a_child_off_the_rescreen_list(book, device, reason):
    child = book.lists()
    first, second = tablet_of(device, book, "a"), tablet_of(device, book, "b")
    first.screens(child, FAIL)
    second.now += timedelta(hours=3)
    second.write(Kind.NOT_TESTED, child=child, reason=reason)
    assert register_of(book, first, second).standing(child).status is Status.RESCREEN


def test_a_visible_ear_problem_outranks_a_pass_on_the_same_day(book, device):
    child = book.lists()
    first, second = tablet_of(device, book, "a"), tablet_of(device, book, "b")
    first.screens(child)
    second.write(Kind.NOT_TESTED, child=child, reason="ear-problem")
    standing = register_of(book, first, second).standing(child)
    assert standing.status is Status.EAR_PROBLEM
    assert standing.disagreeing


def test_a_ruling_stands_until_a_result_comes_that_it_had_not_seen(book, device):
    child = book.lists()
    first, second = tablet_of(device, book, "a"), tablet_of(device, book, "b")
    seen = [first.screens(child, FAIL), second.screens(child)]
    lead = tablet_of(device, book, "lead")
    lead.hears_of(first, second)
    ruling = lead.write(Kind.RESULT_RULED, child=child, status="passed", seen=seen)
    register = register_of(book, first, second, extra=[ruling])
    assert register.standing(child).status is Status.PASSED
    assert register.standing(child).ruled
    third = tablet_of(device, book, "c")
    third.screens(child, FAIL)
    register.add(third.written)
    assert register.standing(child).status is Status.RESCREEN


def test_the_same_student_number_is_one_child_whatever_the_names(book, device):
    listed = book.lists("Ada", "Alder", student_number="S-1")
    tablet = tablet_of(device, book, "a")
    added = tablet.adds("Adah", "Aldr", student_number="S-1")
    tablet.screens(added)
    register = register_of(book, tablet)
    assert len(register.standings()) == 1
    assert register.standing(added) == register.standing(listed)
    assert register.standing(added).person.given == "Ada"


def test_joining_is_reversible_and_a_person_forbids_what_would_join_again(book, device):
    one, two, three = book.lists("Ada"), book.lists("Adah"), book.lists("Ada B")
    lead = tablet_of(device, book, "lead")
    lead.write(Kind.SAME_CHILD, records=[one, two])
    register = register_of(book, lead)
    assert len(register.standings()) == 2
    register.add([lead.write(Kind.DIFFERENT_CHILD, records=[two, one])])
    assert len(register.standings()) == 3
    register.add([lead.write(Kind.SAME_CHILD, records=[one, three], automatic=True)])
    register.add([lead.write(Kind.SAME_CHILD, records=[two, three], automatic=True)])
    assert register.records_of(one) != register.records_of(two)
    assert len(register.joining.contradictions) == 1


def test_a_closed_referral_opens_again_with_a_newer_screening(book, device):
    child = book.lists()
    tablet = tablet_of(device, book, "a")
    tablet.screens(child, FAIL)
    tablet.write(Kind.FOLLOWUP_NOTED, child=child, step="sent")
    assert register_of(book, tablet).standing(child).status is Status.RESCREEN
    tablet.write(Kind.FOLLOWUP_NOTED, child=child, step="moved")
    assert register_of(book, tablet).standing(child).status is Status.CLOSED
    tablet.now += timedelta(days=300)
    tablet.screens(child, FAIL)
    assert register_of(book, tablet).standing(child).status is not Status.CLOSED


def test_an_id_with_two_contents_keeps_both_and_any_device_shows_the_same(book, device):
    child = book.lists()
    first, copy = tablet_of(device, book, "a"), tablet_of(device, book, "a")
    first.screens(child, FAIL)
    copy.screens(child, PASS)
    one = register_of(book, first, copy)
    other = register_of(book, copy, first)
    assert one.variants.keys() == other.variants.keys() != set()
    assert one.standings() == other.standings()
    assert len(one.all_variants()) == len(
        {e.canonical() for e in [*book.written, *first.written, *copy.written]}
    )


@st.composite
def histories(draw, make):
    """Entries of a book and up to four tablets (one perhaps a restored copy), in no particular order."""
    book = make("book")
    book.prepare()
    children = [book.lists(f"Child {n}", student_number=f"S-{n % 3}" if n > 3 else "") for n in range(6)]
    entries = list(book.written)
    for name in draw(st.lists(st.sampled_from("abca"), max_size=4)):
        tablet = make(name, start=book.now + timedelta(days=draw(st.integers(-400, 60))))
        tablet.hears_of(book)
        own = [*children]
        for _ in range(draw(st.integers(0, 5))):
            child = draw(st.sampled_from(own))
            match draw(
                st.sampled_from(["screen", "add", "reason", "join", "rule", "undo", "examined", "taken-out"])
            ):
                case "screen":
                    tablet.screens(child, draw(st.sampled_from([PASS, FAIL, "+++", "-+++++", "/++++++"])))
                case "add":
                    own.append(tablet.adds(student_number=draw(st.sampled_from(["", "S-0", "S-9"]))))
                case "reason":
                    reason = draw(
                        st.sampled_from(["absent", "declined", "under-care", "could-not-test", "ear-problem"])
                    )
                    tablet.write(Kind.NOT_TESTED, child=child, reason=reason)
                case "join":
                    kind = draw(st.sampled_from([Kind.SAME_CHILD, Kind.DIFFERENT_CHILD]))
                    records = [child, draw(st.sampled_from(own))]
                    tablet.write(kind, records=records, automatic=draw(st.booleans()))
                case "examined":
                    earlier = [e.id for e in tablet.written if e.kind is Kind.EXAMINATION_NOTED]
                    replaces = draw(st.sampled_from([None, *earlier]))
                    tablet.write(Kind.EXAMINATION_NOTED, **REPLY, child=child, replaces=replaces)
                case "taken-out":
                    for entry in [e for e in entries + tablet.written if e.kind is Kind.EXAMINATION_NOTED][
                        -1:
                    ]:
                        tablet.write(Kind.DECISION_WITHDRAWN, decision=entry.id, child=entry.child)
                case "undo":
                    decisions = [e for e in entries if e.kind in (Kind.SAME_CHILD, Kind.RESULT_RULED)]
                    for entry in decisions[-1:]:
                        about = list(entry.subjects)
                        tablet.write(Kind.DECISION_WITHDRAWN, decision=entry.id, children=about)
                case _:
                    tablet.write(Kind.RESULT_RULED, child=child, status="passed", seen=[])
        entries += tablet.written
    return entries


@given(data=st.data())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_order_any_split_any_repetition_shows_the_same(device, data):
    entries = data.draw(histories(device))
    reference = Register()
    reference.add(sorted(entries, key=lambda entry: entry.canonical()))
    shuffled = data.draw(st.permutations(entries))
    register = Register()
    position = 0
    while position < len(shuffled):
        size = data.draw(st.integers(1, len(shuffled)))
        register.add(shuffled[max(0, position - 2) : position + size])
        position += size
        if register.visit and data.draw(st.booleans()):
            register.standings()  # what was looked at in between must not stick
    assert sorted(map(repr, register.standings())) == sorted(map(repr, reference.standings()))
    assert register.all_variants() == reference.all_variants()
    slow = reference_merge.standings(reference_merge.merge(entries))
    assert sorted(map(repr, register.standings())) == sorted(map(repr, slow))
    records = [record for standing in register.standings() for record in standing.records]
    assert sorted(records) == sorted(register.people())  # every record in exactly one child
    assert not register.add(entries)


# -- an examiner's audiogram --------------------------------------------------------------------------


def levels(standing):
    return [each.examination.of("right")[0].level_db_hl for each in standing.examinations]


def examined(book, child, level=30, **more):
    reply = {**REPLY, "right": {"air": {"1000": level}}, **more}
    return book.write(Kind.EXAMINATION_NOTED, child=child, **reply).id


def test_a_later_examination_does_not_erase_an_earlier_one(book):
    child = book.lists()
    examined(book, child, 40, examined="2026-12-20")
    examined(book, child, 30, examined="2026-11-30")
    standing = register_of(book).standing(child)
    assert levels(standing) == [30, 40]  # by the day of the examination
    assert standing.status is Status.NOT_SEEN


def test_an_audiogram_that_came_back_is_findings_that_came_back(book):
    child = book.lists()
    book.write(Kind.FOLLOWUP_NOTED, child=child, step="sent", day="2026-11-12")
    book.write(
        Kind.FOLLOWUP_NOTED, child=child, step="closed", day="2026-12-20", note="aids fitted elsewhere"
    )
    examined(book, child, day="2026-12-02", note="advice for the classroom")
    standing = register_of(book).standing(child)
    assert [(f.step, f.day) for f in standing.followups] == [
        ("sent", "2026-11-12"),
        ("findings", "2026-12-02"),
        ("closed", "2026-12-20"),
    ]
    assert standing.followups[1].note == "advice for the classroom"
    assert standing.status is Status.CLOSED


def test_a_correction_speaks_for_what_it_corrects_and_goes_with_it(book):
    child = book.lists()
    first = examined(book, child, 30)
    second = examined(book, child, 35, replaces=first)
    assert levels(register_of(book).standing(child)) == [35]
    assert register_of(book).entry(first).body["right"] == {"air": {"1000": 30}}
    book.write(Kind.DECISION_WITHDRAWN, decision=second, child=child)
    assert levels(register_of(book).standing(child)) == []


def test_two_corrections_of_one_examination_are_both_kept(book, device):
    child = book.lists()
    first = examined(book, child, 30)
    other = tablet_of(device, book, "other")
    examined(book, child, 35, replaces=first)
    examined(other, child, 40, replaces=first)
    assert sorted(levels(register_of(book, other).standing(child))) == [35, 40]


def test_examinations_that_name_each_other_do_not_both_vanish(book, device):
    """A ring can only come from other hands: what was written earlier corrects nothing written later."""
    child = book.lists()
    first = examined(book, child, 30, replaces=f"{book.scribe.counter + 2}@book")
    examined(book, child, 35, replaces=first)
    assert levels(register_of(book).standing(child)) == [35]


def test_an_audiogram_that_breaks_the_rules_is_passed_over(book):
    child = book.lists()
    examined(book, child, 33)
    assert register_of(book).standing(child).examinations == ()


def test_a_joined_child_is_known_by_the_names_of_all_its_records(book, device):
    child = book.lists("Tobias", "Wetherell")
    tablet = tablet_of(device, book, "a")
    added = tablet.adds("Toby", "Whetherall")
    register = register_of(book, tablet)
    assert register.standing(child).also == () == register.standing(added).also
    book.hears_of(tablet)
    same = book.write(Kind.SAME_CHILD, records=[child, added])
    register = register_of(book, tablet)
    assert register.standing(added) is register.standing(child)
    assert register.standing(child).person.family == "Wetherell"
    assert register.standing(child).also == (("Toby", "Whetherall"),)
    tablet.hears_of(book)
    tablet.write(Kind.CHILD_CORRECTED, child=added, fields={"given": "Tobias", "family": "Wetherell"})
    assert register_of(book, tablet).standing(child).also == ()  # spelled alike now
    book.write(Kind.DECISION_WITHDRAWN, decision=same.id, child=child)
    assert len(register_of(book, tablet).standings()) == 2


# -- the cautious list --------------------------------------------------------------------------------

CAUTIOUS = (Status.RESCREEN, Status.THRESHOLD, Status.EAR_PROBLEM, Status.REFERRED)  # most cautious last


@given(data=st.data())
@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_what_another_tablet_found_by_itself_never_takes_a_child_off_a_cautious_list(device, data):
    """Whatever the clocks say, and whether it lists the child under the same record or as another child's."""
    book = device("book")
    book.prepare()
    child = book.lists(student_number="S-1")
    tablets = []
    for name in data.draw(st.sampled_from(["ab", "abc"])):
        tablet = device(name, start=book.now + timedelta(minutes=data.draw(st.integers(-600_000, 600_000))))
        tablet.hears_of(book)
        about = child if data.draw(st.booleans()) else tablet.adds(student_number="S-1")
        for _ in range(data.draw(st.integers(0, 3))):
            what = data.draw(
                st.sampled_from([PASS, FAIL, "+++", "absent", "declined", "could-not-test", "ear-problem"])
            )
            if what in (PASS, FAIL, "+++"):
                if not any(e.kind is Kind.NOT_TESTED for e in tablet.written):  # the tablet would refuse it
                    tablet.screens(about, what, knowing=[])
            else:
                tablet.write(Kind.NOT_TESTED, child=about, reason=what)
        tablets.append(tablet)
    everyone = register_of(book, *tablets).standing(child)
    for left_out in tablets:
        fewer = register_of(book, *(each for each in tablets if each is not left_out)).standing(child)
        if fewer.status in CAUTIOUS:
            assert everyone.status in CAUTIOUS[CAUTIOUS.index(fewer.status) :]
    results = {screening.passed for screening in everyone.screenings} - {None}
    if len(results) > 1:
        assert everyone.disagreeing
