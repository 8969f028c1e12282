"""The day's first screen and giving back without a window, on a station in memory."""

from __future__ import annotations

from pathlib import Path

from fieldapp.screens.give_back.presenter import GiveBackPresenter
from fieldapp.screens.today.presenter import TodayPresenter


def test_today_says_why_the_station_is_closed_and_goes_there(room):
    today = TodayPresenter(room.session)
    assert today.view().ready_words == "The readiness check has not been done."
    assert today.view().check == "Do the readiness check"
    today.start()
    assert room.went[-1][0] == "readiness"
    room.station.make_ready()
    assert "20 dB HL" in today.view().ready_words
    assert today.view().check == "Repeat the readiness check"
    today.start()
    assert room.went[-1][0] == "next_child"


def test_the_return_is_announced_by_its_whole_path(room, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    room.session.exchange = Path()  # as the command gives the folder it is run in
    back = GiveBackPresenter(room.session)
    back.enter()
    assert back.file == tmp_path / "C-2026-09-14.return"


def test_today_says_what_the_last_check_found(room):
    room.station.make_ready()
    spoilt = {"listening": {"right": [1000, 2000, 4000]}, "not_clean": {"left": [1000, 2000, 4000]}}
    room.station.check_readiness({**room.station.facts, **spoilt})
    words = TodayPresenter(room.session).view().ready_words
    assert words.startswith("The last readiness check did not pass.")
    assert "left earphone, 1000, 2000, 4000 Hz. Change the cord" in words
