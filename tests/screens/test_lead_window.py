"""The lead's and the office's screens by real touches: prepare, hand out, gather, decide, print, follow up, wipe."""

from __future__ import annotations

import pytest

from shared.records.standing import Status
from shared.vault import CHEAP
from tests.facts import FAIL, PASSPHRASE, READY

pytestmark = pytest.mark.window

ROSTER = """Student ID,Last Name,First Name,DOB,Grade,Homeroom
S-1,Velloso,Amara,2018-03-14,3,3B
S-2,Wetherell,Tobias,2017-11-02,3,3B
S-3,Yilmazer,Deniz,2018-31-31,3,3B
"""


@pytest.fixture
def lead(visit):
    """A hand on the visit book, opened."""
    from demo.window import Hand

    hand = Hand(visit.session(visit.book, exchange=visit.folder))
    hand.unlock(PASSPHRASE, "LD")
    yield hand
    hand.close()


def test_from_the_class_list_to_a_tablet_that_takes_its_handout(tmp_path, visit):
    from demo.window import Hand
    from fieldapp.services.desk import Desk
    from fieldapp.services.station import Station

    (tmp_path / "list.csv").write_text(ROSTER, "utf-8")
    session = visit.session(
        tmp_path / "new.book",
        exchange=tmp_path,
        prepare_book=lambda path, passphrase, **more: Desk.prepare(
            tmp_path / "new.book", passphrase, clock=visit.clock, cost=CHEAP, **more
        ),
    )
    hand = Hand(session, first="welcome")
    hand.touch("Prepare a visit")
    hand.touch("list.csv")
    assert hand.sees("Children read: 2. Rows not taken: 1.")
    assert hand.sees("Line 4")
    hand.touch("Next")
    hand.front._part.ids.school.take_focus()
    hand.type("Tern Hollow Primary")
    hand.touch("Next")
    assert hand.sees("Source looked at")
    hand.touch("Next")
    hand.touch("+")
    assert hand.sees("2 children on 5 tablets")
    hand.touch("Next")
    hand.front._part.ids.passphrase.take_focus()
    hand.type("short")
    assert hand.pressable("First a stronger passphrase").disabled
    hand.touch("Suggest one")
    hand.touch("Hide")
    assert hand.front._part.ids.passphrase.ids.entry.password
    hand.touch("Show")
    assert not hand.front._part.ids.passphrase.ids.entry.password
    hand.touch("Make the book")
    hand.until(lambda: hand.screen == "hand_out")
    hand.touch("3B")
    hand.touch("Suggest one")
    passphrase = hand.front.presenter.passphrase
    hand.touch("Write A.handout")
    hand.until(lambda: hand.sees("A.handout is written. Children in it: 2."))
    where = str(tmp_path / "new.book")
    assert any(where in words.replace("\n", "") for words in hand.words()), "where the book is"
    field, suggest = hand.front.ids.passphrase, hand.pressable("Suggest one")
    entry = field.ids.entry
    assert (
        abs(entry.to_window(*entry.pos)[0] - suggest.to_window(*suggest.pos)[0]) < 1
    )  # right below its field
    assert suggest.to_window(0, suggest.top)[1] < entry.to_window(*entry.pos)[1]
    hand.touch("B")
    assert field.text == field.ids.entry.text == "" and field.secret  # the passphrase was tablet A's
    hand.close()

    tablet = visit.session(
        tmp_path / "a.store",
        exchange=tmp_path,
        receive_handout=lambda handout, store, words: Station.receive(
            handout, tmp_path / "a.store", words, clock=visit.clock, cost=CHEAP
        ),
    )
    hand = Hand(tablet, first="welcome")
    hand.touch("A.handout")
    hand.front.ids.passphrase.take_focus()
    hand.type(passphrase)
    hand.touch("Take it in")
    hand.until(lambda: hand.screen == "unlock")
    hand.close()


def test_gathering_adds_up_and_gathering_again_adds_nothing(lead, visit):
    visit.day(("Amara", "++++++"), ("Tobias", FAIL))
    lead.touch("Gather returns")
    lead.touch("Gather 1")
    lead.until(lambda: lead.sees("5 listed + 0 added – 0 joined = 5 children"))
    assert lead.sees("none missing") and lead.sees("Nothing waits for a decision.")
    assert lead.sees("The code for wiping says") and lead.pressable("Nothing chosen to gather").disabled
    lead.touch("C.return gathered")
    lead.touch("Gather 1")
    lead.until(lambda: lead.sees("C.return · new records: 0"))
    lead.touch("Back")
    assert lead.sees("2 of 5 screened")


def test_a_doubt_shows_both_sides_alike_and_is_decided(lead, visit):
    visit.day(("Amara", "++++++"))
    from shared.records.standing import Person

    with visit.tablet() as station:
        station.add_child(Person("Toby", "Wetherall", "2017-11-20", "", "3", "3B", added=True))
    lead.touch("Gather returns")
    lead.touch("Gather 1")
    lead.until(lambda: not lead.front.presenter.busy)
    lead.touch("Waiting for a decision: 1")
    assert lead.sees("Is this one child or two?")
    one, two = lead.pressable("One child: join them"), lead.pressable("Two children")
    assert one.rank == two.rank and one.size == two.size and one.ground == two.ground
    lead.touch(two)
    assert lead.sees("Nothing waits for a decision") and lead.sees("Decided: Two children")
    assert len(lead.session.desk.standings()) == 6
    lead.touch("Undo")
    assert lead.sees("Is this one child or two?") and not lead.sees("Decided")
    lead.touch("One child: join them")
    assert len(lead.session.desk.standings()) == 5


def test_a_result_and_care_elsewhere_are_both_shown_and_are_the_answers(lead, visit):
    from shared.records.entries import Reason

    visit.day(("Amara", "++++++"))
    with visit.tablet() as station:
        child = next(s.child for s in station.standings() if s.person.given == "Amara")
        station.not_tested(child, Reason.UNDER_CARE, "hearing aid, left")
    lead.touch("Gather returns")
    lead.touch("Gather 1")
    lead.until(lambda: not lead.front.presenter.busy)
    lead.touch("Back")
    lead.touch("Doubts")
    assert lead.sees("Screened on Tablet C") and lead.sees("Noted · Tablet C")
    assert lead.sees("hearing aid, left")
    assert [key for key, _words in lead.front.presenter.view().decisions] == ["passed", "under-care"]
    lead.touch("under care")
    assert lead.session.desk.ledger.register.standing(child).status is Status.UNDER_CARE
    lead.touch("Undo")
    assert lead.session.desk.ledger.register.standing(child).status is Status.PASSED
    lead.touch("Other …")
    assert lead.sees("referred")
    lead.key("escape")
    assert lead.screen == "doubts" and lead.sees("Other …") and not lead.sees("referred")


def test_a_list_is_printed_and_a_case_followed_up(lead, visit):
    visit.day(("Tobias", FAIL))
    lead.touch("Gather returns")
    lead.touch("Gather 1")
    lead.until(lambda: not lead.front.presenter.busy)
    lead.touch("Back")
    lead.touch("Lists and letters")
    lead.touch("Make and save")
    lead.until(lambda: lead.sees("Children: 1"))
    assert lead.sees("Wetherell, Tobias")
    assert (visit.folder / "papers" / "rescreen-list.pdf").read_bytes().startswith(b"%PDF")
    lead.touch("Back")
    lead.touch("Follow-up")
    lead.touch("Wetherell, Tobias")
    lead.touch("Letter sent")
    standing = next(s for s in lead.session.desk.standings() if s.person.given == "Tobias")
    assert [step.step for step in standing.followups] == ["sent"]


def test_a_tablet_is_wiped_only_with_the_leads_code(visit):
    from demo.window import Hand

    hand = Hand(visit.session(exchange=visit.folder))
    hand.unlock(PASSPHRASE, "MK")
    hand.touch("Give back")
    hand.touch("Write the return")
    hand.until(lambda: hand.sees("The return is written"))
    desk = visit.open(str(visit.book), PASSPHRASE)
    desk.gather(sorted(visit.folder.glob("*.return")))
    (device,) = [d.device for d in desk.devices() if d.device]
    code = desk.receipt(device)
    desk.close()
    hand.touch("Wipe this tablet")
    wrong = f"{(int(code) + 1) % 1_000_000:06}"
    for digit in wrong:
        hand.touch(digit)
    hand.touch("Wipe")
    assert visit.store.exists() and hand.sees("Nothing was wiped.")
    for digit in code[:5]:  # the wrong digits are gone
        hand.touch(digit)
    hand.touch("Wipe")
    assert visit.store.exists()  # not before all six are typed
    hand.touch(code[5])
    hand.touch("Wipe")
    assert not visit.store.exists()
    assert hand.sees("The tablet is wiped") and hand.screen == "welcome"
    hand.close()


def test_a_threshold_test_grows_its_audiogram_and_is_kept(visit):
    from demo.window import Hand

    station = visit.open(str(visit.store), PASSPHRASE)
    station.sign_in("MK")
    station.check_readiness(READY)
    child = next(s.child for s in station.standings() if s.person.given == "Tobias")
    station.walk_script(child, FAIL)
    assert station.standing(child).status is Status.RESCREEN
    station.close()
    at = [0.0]

    def ticks():
        at[0] += 1
        return at[0]

    hand = Hand(visit.session(ticks=ticks))
    hand.unlock(PASSPHRASE, "MK")
    hand.touch("3B")
    row = next(w for w in hand.widgets() if w.text == "Wetherell, Tobias")
    while not hasattr(row, "waiting"):
        row = row.parent
    hand.touch(row.children[0])
    hand.touch("Threshold test")
    hand.touch("Right ear first")
    assert hand.screen == "threshold" and hand.sees("Give 30 dB HL")
    for _ in range(200):
        search = hand.session.station.thresholds.current.search
        if search is None:
            break
        hand.touch("Heard" if search.level >= 15 else "No response", frames=1)
    assert hand.sees("Every tone is found")
    hand.touch("Finish the test")
    (test,) = hand.session.station.standing(child).thresholds
    assert {t.threshold_db_hl for t in test.thresholds} == {15}
    hand.close()


def test_a_visit_book_is_not_called_a_tablet_when_it_is_unlocked(visit):
    from demo.window import Hand

    for path, said, unsaid in (
        (visit.book, "This visit book", "This tablet"),
        (visit.store, "This tablet", "This visit book"),
    ):
        hand = Hand(visit.session(path))
        assert hand.sees(said) and not hand.sees(unsaid)
        hand.close()


def test_escape_leaves_the_text_line_and_closes_what_lies_over_the_screen(lead):
    session, stage = lead.session, lead.app.stage
    for lay in (
        lambda: session.tell("One thing", "to be read"),
        lambda: session.ask(
            "Which?", "", [("This", "strong", lambda: 1 / 0), ("Back", "quiet", lambda: None)]
        ),
        lambda: session.ask_text("Words", "a few", "Keep", lambda _words: 1 / 0),
        lambda: session.ask_pin("Digits", "some", lambda _digits: 1 / 0),
        session.menu,
    ):
        lay()
        lead.frames(2)
        assert stage.front is not stage.current
        lead.key("escape")
        assert stage.front is stage.current and lead.screen == "book"
    session.go("hand_out")
    lead.front.ids.passphrase.take_focus()
    lead.type("bells")
    lead.key("escape")
    assert lead.screen == "hand_out" and not lead.front.ids.passphrase.ids.entry.focus
    lead.key("escape")
    assert lead.screen == "book"
