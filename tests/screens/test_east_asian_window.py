"""A Chinese name on the real window: in the list, and typed into a line."""

from __future__ import annotations

import pytest

from shared.records.standing import Person
from tests.facts import PASSPHRASE, READY

pytestmark = pytest.mark.window


def test_a_name_is_typed_and_shown_in_east_asian_letters(visit):
    from demo.window import Hand
    from fieldapp.widgets.fonts import EAST_ASIAN, SANS

    people = [Person("小雨", "王", "2018-03-14", "S-1", "3", "3B"), *visit.people]
    folder = visit.folder / "more"
    folder.mkdir()
    hand = Hand(type(visit)(folder, people).session())
    hand.unlock(PASSPHRASE, "MK")
    station = hand.session.station
    station.check_readiness(READY)
    hand.session.go("next_child")
    hand.front.presenter.open_class("3B")
    hand.frames()
    shown = next(widget for widget in hand.widgets() if widget.text == "王, 小雨")
    blank = next(widget for widget in hand.widgets() if widget.text == "Velloso, Amara")
    assert shown.texture is not None and shown.texture.width > 20 and shown.texture is not blank.texture
    hand.session.go("add_child")
    entry = hand.front.ids.family.ids.entry
    hand.front.ids.family.take_focus()
    hand.frames()
    assert entry.font_name == SANS
    hand.type("王 Li")
    assert entry.text == "王 Li" and entry.font_name == EAST_ASIAN
    hand.close()
