"""An examiner's audiogram on the screen: the draft, the presenter on a real book, the window by touch and by keys."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fieldapp.screens.child.page import child_view
from fieldapp.screens.findings.draft import AFTER, BEFORE, COLUMNS, MASKED, MINUS, NO_RESPONSE, Cell, Draft
from fieldapp.screens.findings.presenter import ABOUT, SHOWN, TYPING, FindingsPresenter
from fieldapp.widgets.pads_signs import ERASE
from shared.hearing.examination import FREQUENCIES, Examination, Reading, ordered
from shared.records.entries import Kind
from tests.facts import PASSPHRASE


def typed(signs: str) -> Cell:
    cell = Cell()
    for sign in signs:
        cell = cell.press(sign)
    return cell


@pytest.mark.parametrize(
    ("signs", "level", "wrong", "may_become"),
    [
        ("", None, False, False),
        ("0", 0, False, False),
        ("35", 35, False, False),
        ("3", None, True, True),
        ("37", None, True, False),
        ("12", None, True, True),
        ("120", 120, False, False),
        ("125", None, True, False),
        (f"{MINUS}5", -5, False, False),
        (f"10{MINUS}", -10, False, True),
        (f"{MINUS}15", None, True, False),
        (f"35{ERASE}", None, True, True),
        (f"35{ERASE}{ERASE}", None, False, False),
    ],
)
def test_what_keys_make_of_a_cell(signs: str, level: int | None, wrong: bool, may_become: bool) -> None:
    """The 5 dB grid from -10 to 120 dB HL: the clinical audiogram form (read)."""
    cell = typed(signs)
    assert (cell.level, cell.wrong) == (level, wrong)
    if wrong:
        assert cell.may_become is may_become


@st.composite
def audiograms(draw: st.DrawFn) -> Examination:
    spots = [(ear, way, hz) for ear, way in COLUMNS for hz in FREQUENCIES[way]]
    chosen = draw(st.lists(st.sampled_from(spots), unique=True, min_size=1))
    levels = st.integers(-2, 24).map(lambda step: step * 5)
    readings = ordered(
        Reading(*spot, draw(levels), draw(st.booleans()), draw(st.booleans())) for spot in chosen
    )
    return Examination(date(2026, 11, 30), readings, "someone", "insert", "a note")


@given(audiograms())
def test_what_is_typed_is_what_is_kept(examination: Examination) -> None:
    """Typed key by key in the order of the pad, and opened again to be corrected: the same."""
    draft = Draft(at=("right", "air", 250))
    levels = {(r.ear, r.conduction, r.hz): r for r in examination.readings}
    for _ in range(sum(len(FREQUENCIES[way]) for _ear, way in COLUMNS)):
        if reading := levels.get(draft.at):
            signs = f"{MINUS if reading.level_db_hl < 0 else ''}{abs(reading.level_db_hl)}"
            for sign in (*signs, *([MASKED] * reading.masked), *([NO_RESPONSE] * reading.no_response)):
                draft.press(sign)
        draft.press(AFTER)
    assert draft.at == ("right", "air", 250) and not draft.wrong
    about = {"examined": "2026-11-30", "examiner": "someone", "earphones": "insert", "note": "a note"}
    assert Examination.from_dict(draft.to_dict(**about)) == examination
    assert Draft.of(examination).readings == draft.readings


@pytest.fixture
def desk(visit):
    desk = visit.open(str(visit.book), PASSPHRASE)
    desk.ledger.author = "LD"
    yield desk
    desk.close()


@pytest.fixture
def act(visit, desk):
    """The presenter of a new audiogram for the first child, with what it told, asked and went to."""
    session = visit.session(visit.book)
    session.desk = desk
    act = FindingsPresenter(session)
    act.went, act.told, act.asked = [], [], []
    session.go = lambda name, **more: act.went.append((name, more))
    session.tell = lambda title, words: act.told.append(title)
    session.ask = lambda title, words, choices: act.asked.append({c[0]: c[2] for c in choices})
    act.enter(next(s.child for s in desk.standings() if s.person.given == "Amara"))
    return act


def press(act, signs):
    for sign in signs:
        act.press(sign)


def kept(desk, act):
    return desk.ledger.register.standing(act.child).examinations


def test_an_audiogram_is_typed_checked_saved_and_shown(act, desk):
    assert (act.step, act.view().hand) == (TYPING, "500 Hz: nothing typed")
    press(act, ["4", "0", AFTER, AFTER, "4", "5", MASKED, BEFORE, BEFORE])
    assert act.view().hand == "500 Hz: 40 dB HL"
    act.turn(1)
    press(act, ["1", "1", "0", NO_RESPONSE])
    assert act.view().hand == "500 Hz: no response at 110 dB HL"
    assert [words for _e, _w, words, _c in act.view().columns] == [
        "Right\nair · 2", "Left\nair · 1", "Right\nbone", "Left\nbone",
    ]  # fmt: skip
    act.onward()
    assert act.step == ABOUT and not act.view().may_save
    act.set(examiner="County clinic ", note="sit near")
    act.set(examined="2026-09-10")
    act.choose_earphones("insert")
    assert act.view().may_save
    act.save()
    (noted,) = kept(desk, act)
    assert noted.examination.readings == (
        Reading("right", "air", 500, 40),
        Reading("right", "air", 1000, 45, masked=True),
        Reading("left", "air", 500, 110, no_response=True),
    )
    assert (noted.examination.examiner, noted.examination.note, noted.author) == (
        "County clinic",
        "sit near",
        "LD",
    )
    assert act.went == [("findings", {"child": act.child, "noted": noted.id, "back": ("followup", {})})]
    act.enter(act.child, noted.id)
    assert act.step == SHOWN and "County clinic" in act.view().about


def test_a_level_that_is_none_is_told_and_shown_before_going_on(act):
    press(act, "37")
    assert "in steps of 5" in act.view().wrong
    press(act, [ERASE])
    assert act.view().wrong == ""  # 3 may become 30
    press(act, [AFTER])
    assert act.draft.at == ("right", "air", 500) and "in steps of 5" in act.view().wrong
    press(act, "0")
    assert act.view().wrong == ""  # 30
    press(act, [ERASE])
    act.choose(1000)
    assert "! 3" in act.view().cells[1].words
    act.onward()
    assert act.step == TYPING and act.draft.at == ("right", "air", 500)
    assert "in steps of 5" in act.view().wrong
    press(act, [ERASE, NO_RESPONSE])
    act.onward()
    assert "highest" in act.view().wrong


def test_nothing_is_saved_of_a_day_that_lies_ahead(act, desk):
    press(act, "40")
    act.onward()
    act.set(examined="2026-12-31")
    act.save()
    assert "lies ahead" in act.told[0] and kept(desk, act) == () and act.went == []


def test_it_is_corrected_and_what_it_was_stays_in_the_book(act, desk):
    press(act, "40")
    act.set(examined="2026-09-10")
    act.save()
    (first,) = kept(desk, act)
    act.enter(act.child, first.id, ("child", {"child": act.child}))
    act.correct()
    press(act, [ERASE, ERASE, "4", "5"])
    act.onward()
    act.save()
    (second,) = kept(desk, act)
    assert second.examination.readings[0].level_db_hl == 45 and second.day == first.day
    assert len(desk.ledger.register.entries(Kind.EXAMINATION_NOTED)) == 2
    act.enter(act.child, second.id, ("child", {"child": act.child}))
    act.ask_take_out()
    act.asked[-1]["Take it out"]()
    assert kept(desk, act) == () and act.went[-1] == ("child", {"child": act.child})


def test_leaving_asks_where_something_is_not_saved(act):
    act.go_back()
    assert act.went == [("followup", {})] and act.asked == []
    press(act, "4")
    act.go_back()
    assert len(act.went) == 1
    act.asked[-1]["Leave"]()
    assert len(act.went) == 2


def test_the_figures_are_told_with_the_names_of_their_scales(act):
    """By hand: (30 + 35 + 40) / 3 = 35.0, mild by Clark 1981 (from memory); no 4000 Hz, so nothing by WHO 2021."""
    for hz, level in ((500, "30"), (1000, "35"), (2000, "40")):
        act.choose(hz)
        press(act, level)
    told = dict(act.view().figures)
    clark = next(words for heading, words in told.items() if "Clark 1981" in heading)
    assert (
        told[next(h for h in told if "Clark 1981" in h)]
        == "Right ear: mild (35.0 dB HL)\nLeft ear: no mean, so no degree"
    )
    assert clark and told[next(h for h in told if "WHO 2021" in h)] == "no mean, so no degree"
    assert "none, not tested at 4000 Hz" in told["Right ear, mean"]


def test_the_childs_page_shows_it_beside_the_schools_tests(act, desk):
    press(act, ["4", "0", MASKED])
    act.open_column("right", "bone")
    press(act, ["7", "0", NO_RESPONSE])
    act.set(examined="2026-09-10", examiner="County clinic")
    act.save()
    standing = desk.ledger.register.standing(act.child)
    table = child_view(act.t, desk, standing, date(2026, 9, 14)).tests[-1]
    assert (table.heading, table.about) == ("Audiogram of 10 Sep 2026", "County clinic · dB HL")
    assert table.rows == (("right", "Right", ("40 M",)), ("right", "bone", ("NR 70",)))


# -- the window --------------------------------------------------------------------------------------


@pytest.fixture
def lead(visit, desk):
    from demo.window import Hand
    from fieldapp.services.station import Station
    from shared.records.entries import Reason

    station = Station.open(visit.store, PASSPHRASE, clock=visit.clock)
    station.sign_in("MK")
    child = next(s.child for s in station.standings() if s.person.given == "Amara")
    station.not_tested(child, Reason.EAR_PROBLEM, "drainage, left")
    station.give_back(visit.folder / "C.return")
    station.close()
    desk.gather([visit.folder / "C.return"])
    session = visit.session(visit.book, exchange=visit.folder)
    session.desk = desk
    hand = Hand(session, first="book")
    yield hand
    hand.close()


def examinations(lead):
    found = next(s for s in lead.session.desk.standings() if s.person.given == "Amara")
    return found.examinations


@pytest.mark.window
def test_findings_are_typed_by_touch_saved_opened_again_and_corrected(lead):
    lead.session.go("followup")
    lead.frames()
    lead.touch("Velloso, Amara")
    lead.touch("Findings are back")
    lead.touch("An audiogram")
    assert lead.screen == "findings" and lead.pressable("Go on").disabled
    for sign in ("3", "5", "›", "›", "4", "0", "Masked"):
        lead.touch(sign)
    lead.touch("Left\nair")
    lead.touch("4000")
    for sign in ("1", "0", "0", "No response"):
        lead.touch(sign)
    assert lead.sees("no response at 100 dB HL")
    drawn = lead.front.ids.chart._readings
    assert [(r.ear, r.hz, r.level_db_hl) for r in drawn] == [
        ("right", 500, 35), ("right", 1000, 40), ("left", 4000, 100),
    ]  # fmt: skip
    lead.touch("Go on")
    lead.front.ids.examiner.take_focus()
    lead.type("County clinic")
    assert lead.pressable("Save").disabled
    lead.touch("Choose the day")
    for part in ("2026", "Sep", "11"):
        lead.touch(part)
    lead.touch("Insert")
    assert lead.sees("By the scale of Clark 1981, each ear's mean of 500, 1000, 2000 Hz")
    lead.touch("Save")
    (noted,) = examinations(lead)
    assert noted.examination.examiner == "County clinic" and noted.examination.earphones == "insert"
    assert lead.sees("Examined on 11 Sep 2026") and lead.sees("It is not a diagnosis")
    lead.touch("Back")
    assert lead.screen == "followup"
    lead.touch("Velloso, Amara")
    lead.touch("Audiogram of 11 Sep 2026")
    lead.touch("Correct it")
    lead.touch("8000")
    for sign in "55":
        lead.touch(sign)
    lead.touch("Go on")
    lead.touch("Save")
    (corrected,) = examinations(lead)
    assert len(corrected.examination.readings) == 4 and corrected.id != noted.id


@pytest.mark.window
def test_findings_are_typed_by_hardware_keys(lead):
    child = next(s.child for s in lead.session.desk.standings() if s.person.given == "Amara")
    lead.session.go("findings", child=child)
    lead.frames()
    for key in (
        "3",
        "0",
        "right",
        "right",
        "4",
        "5",
        "m",
        "enter",
        "5",
        "backspace",
        "down",
        "1",
        "0",
        "0",
        "n",
        "up",
    ):
        lead.key(key)
    assert [
        (r.ear, r.hz, r.level_db_hl, r.masked, r.no_response) for r in lead.front.presenter.draft.readings
    ] == [
        ("right", 500, 30, False, False),
        ("right", 1000, 45, True, False),
        ("left", 1500, 100, False, True),
    ]
    lead.key("escape")
    assert lead.sees("Leave without saving?")
    lead.key("escape")
    assert lead.screen == "findings"


@pytest.mark.window
def test_findings_in_words_only_are_noted_as_before(lead):
    lead.session.go("followup")
    lead.frames()
    lead.touch("Velloso, Amara")
    lead.touch("Findings are back")
    lead.touch("Words only")
    lead.type("within limits")
    lead.touch("Keep")
    found = next(s for s in lead.session.desk.standings() if s.person.given == "Amara")
    assert [(f.step, f.note) for f in found.followups] == [("findings", "within limits")]
    assert examinations(lead) == ()
