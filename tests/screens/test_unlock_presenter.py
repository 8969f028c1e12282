"""Unlocking without a window, on a station in memory."""

from __future__ import annotations

from fieldapp.screens.unlock.presenter import UnlockPresenter


def test_a_wrong_passphrase_is_said_and_the_third_costs_a_wait(room):
    room.session.station = None
    unlock = UnlockPresenter(room.session)
    unlock.enter()
    for _ in range(3):
        unlock.open("wrong", "MK")
        assert unlock.wrong == "This passphrase does not open the file. Nothing was changed."
    unlock.open("right", "MK")
    assert "Wait 2 s" in unlock.wrong
    room.clock.wait(2.1)
    unlock.open("right", "MK")
    assert room.went[-1][0] == "today"


def test_nothing_opens_without_passphrase_or_initials(room):
    unlock = UnlockPresenter(room.session)
    unlock.enter()
    unlock.open("", "")
    assert unlock.wrong and unlock.wrong_initials
    assert room.went == []


def test_unlocking_goes_where_the_work_was(room):
    room.station.make_ready()
    room.station.begin("1@book")
    unlock = UnlockPresenter(room.session)
    unlock.enter()
    unlock.open("right", "MK")
    assert room.went[-1][0] == "walk"
