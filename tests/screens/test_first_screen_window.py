"""The first screen: back to it from unlocking, what was opened before is offered again, a passphrase can be seen."""

from __future__ import annotations

import json

import pytest

from fieldapp.screens import settings_file
from fieldapp.screens.session import Session
from fieldapp.screens.settings_file import MOST_OPENED, Settings

pytestmark = pytest.mark.window

PASSPHRASE = "seven quiet bells ring"


@pytest.fixture
def started(visit, tmp_path):
    """Starts the app as on a device whose own store is not there; its settings are kept from start to start."""
    from demo.window import Hand

    hands = []

    def start(first="welcome"):
        kept = tmp_path / "kept" / "settings.json"
        session = Session(
            opener=visit.open,
            store_path=str(tmp_path / "own" / "quietbell.store"),
            clock=visit.clock.now,
            exchange=visit.folder,
            settings=settings_file.read(kept),
            settings_path=kept,
        )
        hands.append(Hand(session, first=first))
        return hands[-1]

    yield start
    for hand in hands[-1:]:
        hand.close()


def unlock(hand):
    hand.type(PASSPHRASE)
    hand.front.ids.initials.take_focus()
    hand.type("LD")
    hand.touch("Open")


def test_there_is_a_way_back_from_unlocking(started, visit):
    hand = started()
    hand.touch("visit.book")
    assert hand.screen == "unlock" and hand.sees(f"visit.book · {visit.folder.name}")
    hand.touch("Back")
    assert hand.screen == "welcome"
    hand.touch("tablet.store")
    hand.key("escape")  # out of the line
    hand.key("escape")  # out of the screen
    assert hand.screen == "welcome" and not hand.sees("Open again")


def test_a_book_that_was_opened_is_offered_at_the_next_start(started, visit, tmp_path):
    hand = started()
    hand.touch("visit.book")
    unlock(hand)
    hand.until(lambda: hand.screen == "book")
    hand.close()
    hand = started()
    assert hand.sees("Open again") and hand.sees(f"visit.book · {visit.folder.name}")
    hand.touch(f"visit.book · {visit.folder.name}")
    assert hand.screen == "unlock" and hand.sees("This visit book keeps")
    unlock(hand)
    hand.until(lambda: hand.screen == "book")
    assert hand.session.settings.opened == (str(visit.book),)
    kept = (tmp_path / "kept" / "settings.json").read_text("utf-8")
    assert json.loads(kept)["opened"] == [str(visit.book)]
    assert not [p for p in visit.people if p.family in kept or p.student_number in kept]
    hand.close()
    visit.book.rename(visit.folder / "elsewhere")
    hand = started()
    assert not hand.sees("Open again") and not hand.sees("visit.book")


def test_a_book_given_on_the_command_line_leaves_the_device_s_own_store_where_it_is(visit, tmp_path):
    own = tmp_path / "quietbell.store"
    session = Session(opener=visit.open, store_path=str(visit.book), own_path=str(own))
    session.remember_opened()
    assert session.offered_again() == [visit.book]
    own.write_bytes(b"")
    assert session.offered_again() == [own, visit.book]


def test_only_the_last_few_are_remembered_and_nothing_but_paths_is_read(tmp_path):
    kept = tmp_path / "settings.json"
    session = Session(opener=lambda *_: None, settings_path=kept)
    for number in range(MOST_OPENED + 2):
        session.store_path = str(tmp_path / f"{number}.book")
        session.remember_opened()
    newest = [str(tmp_path / f"{number}.book") for number in range(MOST_OPENED + 1, 1, -1)]
    assert list(settings_file.read(kept).opened) == newest
    kept.write_text(json.dumps({"opened": [7, None, "", "/a.book"], "hand": "left"}), "utf-8")
    assert settings_file.read(kept) == Settings(hand="left", opened=("/a.book",))
    kept.write_text(json.dumps({"opened": "/a.book"}), "utf-8")
    assert settings_file.read(kept).opened == ()


def test_a_book_is_prepared_where_nothing_lies_yet(started):
    hand = started()
    own = hand.session.own_path
    hand.session.go("prepare")
    assert str(hand.front.presenter.book) == own
    hand.session.own_path = str(hand.session.exchange / "tablet.store")
    hand.session.go("prepare")
    assert hand.front.presenter.book.name == "visit-2.book"  # visit.book is there as well


@pytest.mark.parametrize("screen", ["welcome", "unlock", "hand_out"])
def test_a_passphrase_can_be_looked_at_and_hidden_again(started, visit, screen):
    hand = started("welcome" if screen == "welcome" else "unlock")
    if screen == "hand_out":
        hand.session.desk = visit.open(str(visit.book), PASSPHRASE)
        hand.session.go("hand_out")
        hand.frames()
    field = hand.front.ids.passphrase
    entry = field.ids.entry
    entry.focus = True
    hand.type("four words")
    assert entry.password and field.text == "four words"
    hand.touch("Show")
    assert not entry.password and entry.text == "four words"
    hand.touch("Hide")
    assert entry.password and entry.text == "four words"


def test_whoever_reads_only_the_other_language_changes_to_it_on_the_first_screen(started):
    hand = started()
    hand.touch("Español")
    hand.frames()
    assert hand.sees("Preparar una visita") and hand.session.settings.language == "es"
    hand.close()
    hand = started()  # it is kept
    assert hand.sees("Preparar una visita")
    hand.touch("English")
    hand.frames()
    assert hand.sees("Prepare a visit")


def test_the_first_start_speaks_the_system_s_language(tmp_path):
    # The order LC_ALL, LC_MESSAGES, LANG: POSIX.1-2017, Base Definitions, 8.2 Internationalization Variables.
    assert settings_file.spoken_here({"LANG": "es_MX.UTF-8"}) == "es"
    assert settings_file.spoken_here({"LC_ALL": "en_US.UTF-8", "LANG": "es_MX.UTF-8"}) == "en"
    assert settings_file.spoken_here({"LC_ALL": "", "LC_MESSAGES": "es", "LANG": "C"}) == "es"
    assert settings_file.spoken_here({"LANG": "fr_FR"}) == settings_file.spoken_here({}) == "en"
    assert settings_file.read(tmp_path / "none.json", "es").language == "es"
    (tmp_path / "chosen.json").write_text(json.dumps({"language": "en"}))
    assert settings_file.read(tmp_path / "chosen.json", "es").language == "en"
