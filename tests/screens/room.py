"""The screener's side for presenter tests: a session on a station in memory, with nothing shown."""

from __future__ import annotations

from fieldapp.screens.next_child.presenter import NextChildPresenter
from fieldapp.screens.result.presenter import ResultPresenter
from fieldapp.screens.session import Session
from fieldapp.screens.walk.presenter import WalkPresenter
from shared.errors import WrongPassphrase
from tests.screens.fake_station import FakeClock, FakeStation


class Room:
    """A session whose navigation, sheets and timers are written down instead of shown."""

    def __init__(self):
        self.clock = FakeClock()
        self.station = FakeStation(self.clock)
        self.went, self.told, self.asked, self.timers = [], [], [], []
        self.session = Session(
            opener=lambda _path, passphrase: self._open(passphrase),
            clock=self.clock,
            ticks=self.clock.ticks,
            station=self.station,
            go=lambda name, **more: self.went.append((name, more)),
            tell=lambda title, words: self.told.append((title, words)),
            ask=lambda title, words, choices: self.asked.append((title, {c[0]: c[2] for c in choices})),
            after=self._after,
        )

    def _after(self, seconds, act):
        self.timers.append((seconds, act))
        return lambda: self.timers.clear()

    def _open(self, passphrase):
        if passphrase != "right":
            raise WrongPassphrase("This passphrase does not open the file.", kept="Nothing was changed.")
        return self.station

    def walk(self, signs):
        """Walk the child in hand: heard (+), no response (-), reseated (/)."""
        walk = WalkPresenter(self.session)
        walk.enter()
        for sign in signs:
            self.clock.wait(1)
            if sign == "/":
                walk.reseat()
            else:
                walk.answer(sign == "+")
        return walk

    def screened(self, signs, child="1@book"):
        """A child walked to its end on a ready station."""
        self.station.make_ready()
        self.station.begin(child)
        self.walk(signs)
        self.station.finish()

    def passed(self, child="1@book"):
        """The result of a child of 3B who passes."""
        self.session.class_name = "3B"
        self.station.make_ready()
        self.station.begin(child)
        self.walk("++++++")
        result = ResultPresenter(self.session)
        result.enter(**self.went[-1][1])
        return result

    def open_list(self):
        """The list with its menus: the presenter, and what opens the menu of a child."""
        rows, shown = NextChildPresenter(self.session), []
        rows.show_menu = shown.append
        rows.enter()

        def menu(child):
            rows.more(child)
            return shown[-1]

        return rows, menu

    def menu_of(self, child):
        """The menu of a child in a list opened for it."""
        return self.open_list()[1](child)
