"""Handing out, gathering and the watch without a window, on a real visit book."""

from __future__ import annotations

from datetime import timedelta

from fieldapp.screens.gather.presenter import GatherPresenter
from fieldapp.screens.hand_out.presenter import HandOutPresenter
from fieldapp.screens.unlock.presenter import UnlockPresenter
from fieldapp.screens.watch.presenter import WatchPresenter
from fieldapp.services.closing import Aside
from tests.facts import FAIL, PASSPHRASE


def test_a_gathered_return_is_known_again_and_not_chosen(lead):
    gather = lead.show(GatherPresenter)
    lead.day(("Amara", "++++++"))
    (found,) = [each for each in gather.files() if each.name == "C.return"]
    assert gather.sign(found) == "gathered" and gather.chosen() == []
    gather.choose(found)
    assert gather.sign(found) == "gathered ✓" and gather.chosen() == [found.path]
    gather.gather()
    assert gather.result.returns[0].new == 0 and gather.chosen() == []
    lead.visit.day()
    assert gather.chosen() == [found.path]  # written anew: another file
    assert lead.desk.was_gathered(lead.visit.folder / "nothing.return") is False


def test_what_came_back_says_that_a_tablet_was_set_aside(lead):
    lead.desk.closing.set_aside("C", Aside.LOST)
    gather = lead.show(GatherPresenter)
    assert list(gather.came_back()) == [("Tablet\u00a0C", "is lost")] and not gather.has_code()


def test_a_handout_says_where_it_is_and_what_comes_next(lead):
    handing = lead.show(HandOutPresenter)
    handing.choose_name("D")
    handing.type("four calm words sounding")
    handing.write()
    assert handing.done == "D.handout is written. Children in it: 5."
    assert str((lead.visit.folder / "D.handout").resolve()) in handing.next
    assert "carry the file to Tablet\u00a0D" in handing.next
    name, words = handing.handed()[-1]
    assert name == "Tablet\u00a0D" and len(words.split("\n")) == 2, "the classes, and below them since when"


def test_a_handout_that_is_there_is_replaced_only_by_a_word(lead):
    """It may be another visit's: the tablets' names are the same at every school."""
    there = lead.visit.folder / "D.handout"
    there.write_bytes(b"another school's")
    handing = lead.show(HandOutPresenter)
    handing.choose_name("D")
    handing.type("four calm words sounding")
    handing.write()
    assert lead.asked[-1][0] == "There is a D.handout already" and not handing.done
    lead.choose("Not now")
    assert there.read_bytes() == b"another school's" and not handing.done
    lead.choose("Keep both: save as D-2.handout")
    assert handing.done.startswith("D-2.handout is written") and "D-2.handout" in handing.next
    assert there.read_bytes() == b"another school's"
    handing.write()
    lead.choose("Replace it")
    assert handing.done.startswith("D.handout is written") and there.read_bytes() != b"another school's"


def test_a_tablets_passphrase_does_not_stay_for_the_next_tablet(lead):
    handing = lead.show(HandOutPresenter)
    handing.choose_name("D")
    handing.type("four calm words sounding")
    handing.choose_name("D")
    assert handing.may_write
    handing.choose_name("E")
    assert handing.passphrase == "" and not handing.may_write


def test_what_is_entered_in_the_book_is_signed_by_who_opened_it(lead):
    lead.desk.close()
    lead.show(UnlockPresenter).open(PASSPHRASE, " ld ")
    lead.desk = lead.session.desk
    lead.desk.followup.note_step([lead.child("Tobias")], "sent", note="")
    assert lead.standing("Tobias").followups[-1].author == "LD"


def test_a_station_with_too_few_children_says_so(lead):
    lead.day(("Amara", "++++++"), ("Tobias", FAIL))
    watch = WatchPresenter(lead.session)
    (row,) = watch.view().rows
    assert row.cells == () and row.instead == "too few children yet: shown from 5 on"
    lead.day(("Deniz", "++++++"), ("Mei", "++++++"), ("Inés", "++++++"))
    (row,) = watch.view().rows
    assert [words for words, _raised in row.cells] == ["0 %", "0 %", "20 %", "0 %", "0 %", "0 %"]


def test_rescreens_are_no_measure_of_a_station(lead):
    names = ("Amara", "Tobias", "Deniz", "Mei", "Inés")
    lead.day(*((name, FAIL) for name in names))
    watch = WatchPresenter(lead.session)
    (before,) = watch.view().rows
    lead.visit.clock.set(lead.visit.clock.now() + timedelta(days=21))
    lead.day(*((name, "++++++") for name in names))  # the rescreens, on the same tablet
    assert watch.view().rows == (before,)
