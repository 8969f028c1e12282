"""The lowest screen with the largest words: what must be said there is said, and nothing that is to be read is cut."""

from __future__ import annotations

import pytest

from fieldapp.services.station import Station
from shared.records.entries import Kind
from shared.records.standing import Person
from shared.vault import CHEAP
from tests.facts import FAIL, PASSPHRASE, READY
from tests.screens.conftest import PEOPLE, Ticks, Visit, child_named

pytestmark = pytest.mark.window

LONG = Person("Oluwaseun-Adebayo", "van der Hoogenbroeck-Montgomery-Ashcombe", "2018-05-02", "S-1", "3", "3B")


@pytest.fixture
def visit(tmp_path):
    return Visit(tmp_path, [*PEOPLE, LONG])


@pytest.fixture
def tablet(visit):
    """A ready tablet of 800 by 480 dp with words 1.3 times as large."""
    from demo.window import Hand

    hand = Hand(visit.session(ticks=Ticks()), (800, 480))
    hand.unlock(PASSPHRASE, "MK")
    hand.session.change(text_scale=1.3)
    hand.session.station.check_readiness(READY)
    yield hand
    hand.close()


@pytest.fixture
def book(visit):
    """The visit's book in the same size: one child screened twice and noted as under care."""
    from demo.window import Hand

    session = visit.session(visit.book)
    session.desk = desk = visit.open(str(visit.book), PASSPHRASE)
    desk.sign_in("LD")
    for tablet, answers in (("A", FAIL), ("B", "++++++")):
        handout, store = visit.folder / f"{tablet}.handout", visit.folder / f"{tablet}.store"
        desk.hand_out(tablet, handout, PASSPHRASE, cost=CHEAP)
        station = Station.receive(handout, store, PASSPHRASE, clock=visit.clock, cost=CHEAP)
        station.sign_in("MK")
        station.check_readiness(READY)
        station.walk_script(child_named(station, "Amara"), answers)
        station.give_back(visit.folder / f"{tablet}.return")
        station.close()
    desk.gather([visit.folder / "A.return", visit.folder / "B.return"])
    hand = Hand(session, (800, 480))
    session.change(text_scale=1.3)
    yield hand
    hand.close()


def test_what_counts_as_no_response_is_said_once_one_counts_along_and_no_answer_moves(tablet):
    tablet.session.class_name = "3B"
    tablet.session.go("next_child")
    tablet.frames()
    tablet.touch("Velloso, Amara")
    assert tablet.sees("Set 1000 Hz") and not tablet.sees("counts as no response")
    heard = tablet.pressable("Heard")
    before = heard.to_window(*heard.pos), tuple(heard.size)
    tablet.touch("Presented 0 of 4")
    assert tablet.sees("No answer after 4 presentations") and not tablet.sees("Set 1000 Hz")
    for count in (1, 2, 3):
        tablet.touch(f"Presented {count} of 4")
    assert tablet.sees("Presented 4 times.")
    assert (heard.to_window(*heard.pos), tuple(heard.size)) == before
    assert not tablet.faults()
    tablet.touch(heard)
    assert not tablet.sees("Presented 4 times.")


def test_a_long_name_keeps_the_given_name_in_the_list_and_on_the_button_after_a_child(tablet):
    tablet.session.class_name = "3B"
    tablet.session.go("next_child")
    tablet.frames()
    shown = next(words for words in tablet.words() if words.startswith("van"))
    assert shown.endswith("…, Oluwaseun-Adebayo")
    tablet.session.station.walk_script(child_named(tablet.session.station, "Amara"), "++++++")
    tablet.session.go("result", child=child_named(tablet.session.station, "Amara"))
    tablet.frames()
    button = next(words for words in tablet.words() if words.startswith("van"))
    assert "Oluwaseun-Adebayo" in button and not tablet.faults()
    tablet.session.go("add_child", typed="")
    tablet.front.ids.family.text, tablet.front.ids.given.text = LONG.family, LONG.given
    tablet.frames()
    alike = next(words for words in tablet.words() if words.startswith("van") and "…" in words)
    assert "Oluwaseun" in alike and not tablet.faults()


def test_three_sides_of_a_doubt_stand_under_each_other_with_their_results_marked(book):
    from fieldapp.screens.doubts.screen import Compared, SideCard

    desk = book.session.desk
    child = child_named(desk, "Amara")
    desk.ledger.write(
        (Kind.NOT_TESTED, {"child": child, "reason": "under-care", "note": "hearing aid, left"})
    )
    book.session.go("doubts")
    book.frames(5)
    cards = list(book.widgets(SideCard))
    assert len(cards) == 3 and len({card.x for card in cards}) == 1
    assert all(card.width > 700 for card in cards)
    marked = list(book.widgets(Compared))
    assert len(marked) == 3 and all(each.differs and list(each._spots()) for each in marked)
    assert book.sees("Velloso, Amara") and not book.faults()


def test_a_bar_too_short_for_what_a_screen_is_about_says_it_briefly_rather_than_cut(book):
    from fieldapp.widgets.top import Top

    assert Top.fitting(400, 23, "Examiner's audiogram", "Audiogram") == "Examiner's audiogram"
    assert Top.fitting(200, 23, "Examiner's audiogram", "Audiogram") == "Audiogram"
    book.session.go("findings", child=child_named(book.session.desk, "Amara"), back=("followup", {}))
    book.frames()
    said = book.front.ids.top.brief
    assert said == "Audiogram" and not book.faults()


def test_the_keys_of_an_audiogram_are_alike_and_their_words_keep_from_the_edge(book):
    from fieldapp.screens.findings.screen import ColumnKey, ToneKey

    book.session.change(language="es")
    book.session.go("findings", child=child_named(book.session.desk, "Amara"), back=("followup", {}))
    for hz in (1000, 2000):
        book.front.presenter.choose(hz)
        for sign in ("1", "1", "0", "M", "NR"):
            book.front.presenter.press(sign)
    book.frames()
    assert any(words.startswith("2000\n>110") for words in book.words()) and not book.faults()
    for kind in (ColumnKey, ToneKey):
        assert len({(key.height, key.font_size) for key in book.widgets(kind)}) == 1


def test_what_differs_is_marked_where_it_is_drawn_also_on_a_second_line(book):
    from fieldapp.screens.doubts.screen import Compared

    said = Compared(
        pieces=[("Hoogenbroeck Montgom", False), ("e", True), ("ry", False)], size_hint_x=None, width=230
    )
    book.front.add_widget(said)
    book.frames()
    assert said.text == "Hoogenbroeck\nMontgomery"
    ((x, top, wide, high),) = said._spots()
    assert top == pytest.approx(said.y + said.height - high, abs=1)
    assert said.x + 80 < x < said.x + said.texture_size[0] and 5 < wide < 25
    said.width = 600
    book.frames()
    assert said.text == "Hoogenbroeck Montgomery"


def test_a_threshold_test_that_is_not_reliable_is_repeated_from_its_result_and_stays_on_record(tablet):
    station = tablet.session.station
    child = child_named(station, "Amara")
    station.walk_script(child, FAIL)

    def test_with(*tries):
        """Every tone is heard at 15 dB HL, but right 1000 Hz at one level of these after the other."""
        levels, hears = iter(tries), 15
        while (search := station.thresholds.current.search) is not None:
            if not search.presentations:
                hears = next(levels) if (search.ear, search.hz) == ("right", 1000) else 15
            tablet.session.ticks.wait(1)
            tablet.front.presenter.answer(search.level >= hears)
        tablet.front.presenter.finish()
        tablet.frames()

    station.begin_threshold_test(child)
    tablet.session.go("threshold")
    test_with(15, 35, 55)
    assert tablet.sees("Not reliable") and not tablet.faults()
    tablet.touch("Repeat the threshold test")
    tablet.touch("Right ear first")
    assert tablet.screen == "threshold"
    test_with(15, 15)
    assert tablet.screen == "result" and not tablet.sees("Not reliable")
    assert not tablet.sees("Repeat the threshold test")
    first, second = station.standing(child).thresholds
    assert first.disagreed == (("right", 1000),) and not second.disagreed
    assert first.thresholds and second.thresholds
