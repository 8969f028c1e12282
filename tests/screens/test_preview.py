"""The preview without a window: which pages are drawn, how much is kept, what a late picture does."""

from __future__ import annotations

import sys
from types import SimpleNamespace

import pytest

from fieldapp.platform.pages import Picture
from fieldapp.screens.papers.presenter import PapersPresenter
from fieldapp.screens.preview import presenter as preview
from fieldapp.screens.session import Session
from shared.records.standing import Person

ROOM = (800.0, 600.0)


class Book:
    """Stands in for a paper of 600 pages."""

    count, shape = 600, 792 / 612

    def __init__(self):
        self.drawn, self.closed = [], False

    def picture(self, page, wide):
        self.drawn.append((page, wide))
        high = round(wide * self.shape)
        return Picture(wide, high, bytes(wide * high * 4))

    def close(self):
        self.closed = True


@pytest.fixture
def book(monkeypatch):
    made = Book()
    monkeypatch.setattr(preview, "open_pages", lambda pdf: made)
    return made


@pytest.fixture
def act(book):
    later = []
    session = Session(opener=lambda *_: None)
    session.aside = lambda job, then, failed: later.append(lambda: then(job()))
    made = preview.PreviewPresenter(session)
    protocol = SimpleNamespace(verified=True)
    paper = SimpleNamespace(
        name="rescreen-list",
        made=SimpleNamespace(pdf=b"%PDF"),
        unprintable=(),
        context=SimpleNamespace(protocol=protocol),
    )
    made.enter(paper)
    made.later = later

    def settle():
        while later:
            later.pop(0)()

    made.settle = settle
    return made


def test_only_the_page_in_sight_and_the_next_are_drawn(act, book):
    act.fit(*ROOM)
    act.settle()
    assert [page for page, _wide in book.drawn] == [0, 1]
    act.go_to(400)
    act.settle()
    assert [page for page, _wide in book.drawn] == [0, 1, 400, 401]


def test_pages_that_were_passed_before_they_could_be_drawn_are_not_drawn(act, book):
    act.fit(*ROOM)
    act.settle()
    book.drawn.clear()
    for _ in range(50):
        act.turn(1)
    act.settle()
    assert {page for page, _wide in book.drawn} == {50, 51}


def test_what_is_kept_is_bounded(act, book):
    act.fit(2560, 1600)
    act.settle()
    act.resize(1)
    act.resize(1)
    for _ in range(12):
        act.turn(1)
        act.settle()
    assert act.wide() == preview.WIDEST and act.picture.wide == preview.WIDEST
    assert sum(len(each.pixels) for each in act._kept.values()) <= preview.MOST


def test_a_whole_page_fits_and_across_is_as_wide_as_the_room(act):
    act.fit(*ROOM)
    act.settle()
    assert act.picture.high <= ROOM[1] + 1 and act.picture.wide <= ROOM[0]
    act.resize(1)
    act.settle()
    assert act.picture.wide == ROOM[0]
    act.resize(-5)
    assert act.size == preview.WHOLE


def test_pages_end_where_the_paper_does(act):
    act.fit(*ROOM)
    act.settle()
    act.turn(-1)
    assert act.page == 0 and act.view().first
    act.go_to(10_000)
    assert act.page == 599 and act.view().last
    act._typed("17")
    assert act.page == 16
    act._typed("no number")
    assert act.page == 16


def test_left_before_it_was_open_it_is_closed_all_the_same(act, book):
    act.leave()
    act.settle()
    assert book.closed and act.picture is None


def test_left_while_a_page_is_drawn_nothing_is_kept(act, book):
    act.fit(*ROOM)
    act.later.pop(0)()
    act.leave()
    act.settle()
    assert book.closed and not act._kept


@pytest.mark.parametrize("there", ["no package", "a library that does not fit the machine"])
def test_a_machine_without_a_preview_says_so(there, monkeypatch, tmp_path):
    from fieldapp.platform import pages
    from shared.errors import Refused

    monkeypatch.delitem(sys.modules, "pypdfium2", raising=False)
    if there == "no package":
        monkeypatch.setitem(sys.modules, "pypdfium2", None)
    else:
        (tmp_path / "pypdfium2.py").write_text("raise OSError('wrong ELF class')\n", "utf-8")
        monkeypatch.syspath_prepend(tmp_path)
    assert not pages.can_show()
    with pytest.raises(Refused, match="cannot show the pages"):
        pages.open_pages(b"")


def test_a_long_paper_tells_how_far_it_is(visit, tmp_path):
    folder = tmp_path / "office"
    folder.mkdir()
    people = [Person(f"Ada {n}", "Alder", "2018-03-14", f"S-{n}", "3", "3B") for n in range(25)]
    office = type(visit)(folder, people)
    session = office.session(office.book)
    session.desk = office.open(str(office.book), "seven quiet bells ring")
    act, said, gone = PapersPresenter(session), [], []
    session.go = lambda name, **more: gone.append((name, more["paper"].made.pages))
    act.enter("child-records")
    act.changed = lambda: said.append(act.view().making)
    act.show()
    assert said == ["Making …", "Making 10 of 25 …", "Making 20 of 25 …"]
    assert gone == [("preview", 25)] and not act.busy
    session.close()


def test_locked_while_a_paper_is_drawn_no_name_comes_back_to_the_screen(visit):
    session, later, gone = visit.session(visit.book), [], []
    session.desk = visit.open(str(visit.book), "seven quiet bells ring")
    session.work = lambda job, then, failed: later.append(lambda: then(job()))
    session.go = lambda name, **_more: gone.append(name)
    act = PapersPresenter(session)
    act.enter("not-yet-screened-list")
    act.show()
    act.leave()  # as the stage does when it locks
    later.pop()()
    assert gone == [] and not act.busy
    session.close()
