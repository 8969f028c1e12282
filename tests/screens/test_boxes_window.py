"""The boxes on the real window: what is empty takes no gap, and what is left of a screen is shared out."""

from __future__ import annotations

import pytest

from tests.facts import PASSPHRASE
from tests.screens.conftest import Ticks

pytestmark = pytest.mark.window


@pytest.fixture
def hand(visit):
    from demo.window import Hand

    hand = Hand(visit.session(visit.book, ticks=Ticks()))
    hand.unlock(PASSPHRASE, "LD")
    yield hand
    hand.close()


def test_empty_words_take_no_gap_in_a_column_or_a_band(hand):
    from fieldapp.widgets.box import Band, Column
    from fieldapp.widgets.words import Tag, Words

    column = Column(spacing=20, width=400)
    first, empty, last = Words(text="above"), Words(), Words(text="below")
    band = Band(spacing=20)
    left, none, right = Tag(text="left"), Tag(), Tag(text="right")
    for box, inside in ((column, (first, empty, last)), (band, (left, none, right))):
        for each in inside:
            box.add_widget(each)
        hand.app.stage.current.add_widget(box)
    hand.frames()
    assert first.y - last.top == pytest.approx(20) and right.x - left.right == pytest.approx(20)
    assert column.height == pytest.approx(first.height + last.height + 20)
    empty.text = "between"
    hand.frames()
    assert first.y - empty.top == pytest.approx(20) and empty.y - last.top == pytest.approx(20)


def test_a_column_of_nothing_but_empty_words_has_no_height(hand):
    from fieldapp.widgets.box import Column
    from fieldapp.widgets.words import Words

    column = Column(spacing=20, padding=(0, 3, 0, 4))
    column.add_widget(Words())
    column.add_widget(Words())
    hand.app.stage.current.add_widget(column)
    hand.frames()
    assert column.height == pytest.approx(7)


def test_the_tiles_of_the_book_are_equally_high_and_end_with_the_card_beside_them(hand):
    tiles = hand.app.stage.current.ids.places.children
    assert len({round(tile.height) for tile in tiles}) == 1
    card = hand.app.stage.current.ids.standing.parent
    assert min(tile.to_window(*tile.pos)[1] for tile in tiles) == pytest.approx(card.y, abs=1)
    assert max(tile.to_window(0, tile.top)[1] for tile in tiles) == pytest.approx(card.top, abs=1)


def test_what_fits_only_without_a_bar_comes_to_rest(visit, tmp_path):
    """Each width of the content is laid out before it is judged, or bar and no bar follow each other for ever. What a
    list's reading came to is such a text on a low screen."""
    from demo.gallery_beginning import ROSTER
    from demo.window import Hand
    from fieldapp.screens.settings_file import Settings

    visit.folder.joinpath("classes.csv").write_text(ROSTER, "utf-8")
    session = visit.session(tmp_path / "new.book", exchange=visit.folder, settings=Settings(language="es"))
    hand = Hand(session, (800, 480), first="welcome")
    session.go("prepare")
    hand.frames()
    hand.front.presenter.read(visit.folder / "classes.csv")
    hand.frames()
    scroll = hand.front._part.ids.words.parent.parent
    rooms = []
    scroll.bind(room=lambda _scroll, room: rooms.append(room))
    hand.frames()
    assert rooms == []
    assert (scroll.room > 0) == (scroll.viewport_size[1] > scroll.height + 1)
    hand.close()
