"""Back is in one place: before the title, on every screen and every sheet. And rows that only say something look it."""

from __future__ import annotations

import pytest

from fieldapp.screens.readiness.presenter import STEPS
from tests.facts import PASSPHRASE

pytestmark = pytest.mark.window


def ways_back(hand):
    from fieldapp.widgets.press import WayBack

    return list(hand.widgets(WayBack))


def stands_before_the_title(hand, title):
    (back,) = ways_back(hand)
    words = next(word for word in hand.widgets() if word.text.startswith(title))
    x, y = back.to_window(*back.center)
    left, low = words.to_window(*words.pos)
    return x < left and low - 2 <= y <= low + words.height + 2


@pytest.fixture
def tablet(hand, visit):
    """Signed in on the tablet."""
    hand.session.station = visit.open(str(visit.store), PASSPHRASE)
    hand.session.station.sign_in("MK")
    hand.session.go("settings")
    hand.frames()
    return hand


def test_back_stands_before_the_title_of_a_screen(tablet):
    assert stands_before_the_title(tablet, "Settings")


def test_back_stands_before_the_title_of_every_kind_of_sheet(tablet):
    session = tablet.session
    for lay, title in (
        (session.card, "To read aloud"),
        (session.menu, "Tablet\u00a0C"),
        (lambda: session.ask_pin("A PIN", "of digits", print), "A PIN"),
        (lambda: session.ask_text("A note", "in words", "Keep", print), "A note"),
        (lambda: session.ask_many("Many", [("of", [("a", "A")])], lambda c: ("Take", True), print), "Many"),
    ):
        lay()
        tablet.frames()
        assert stands_before_the_title(tablet, title), title
        tablet.touch(ways_back(tablet)[0])
        assert tablet.screen == "settings" and tablet.sees("For this tablet only"), title


def test_a_sheet_that_only_tells_has_no_way_back_but_its_word(tablet):
    tablet.session.tell("The disk is full.", "Every answer is kept.")
    tablet.frames()
    assert not ways_back(tablet)
    tablet.key("escape")
    assert tablet.sees("For this tablet only")


def test_the_pedal_s_key_is_called_as_on_the_keyboard(tablet):
    assert tablet.sees("Now: Page Down")
    tablet.touch("Español")
    tablet.frames()
    assert tablet.sees("Ahora: Av Pág")
    tablet.touch("Elegir tecla")
    tablet.key("f5")
    assert tablet.sees("Ahora: F5")
    tablet.touch("Elegir tecla")
    tablet.key("b")
    assert tablet.sees("Ahora: B")


def test_a_key_that_means_something_else_is_no_pedal(tablet):
    tablet.touch("Choose its key")
    tablet.key("n")  # no response, in the tone walk
    assert tablet.sees("N already has a meaning")
    tablet.touch("Understood")
    assert tablet.session.settings.pedal == "pagedown"
    tablet.key("f5")  # still being learned
    assert tablet.session.settings.pedal == "f5"


def test_every_key_that_answers_otherwise_or_takes_back_is_refused_as_a_pedal(tablet):
    """The list of them is kept by hand, so it is held against what the screens take."""
    from fieldapp.screens.result.screen import ResultScreen
    from fieldapp.screens.settings.presenter import MEANT
    from fieldapp.screens.threshold.screen import ThresholdScreen
    from fieldapp.screens.walk.screen import WalkScreen

    taken = {}
    for screen in (WalkScreen, ThresholdScreen, ResultScreen):
        taken |= screen(tablet.session).keys()
    harmless = {"pedal", "h", "+", "space", "enter"}  # as the pedal itself
    closing = {"escape"}  # ends the choosing of a key
    assert set(taken) - harmless - closing <= MEANT


def test_a_pedal_that_sends_a_letter_takes_none_from_who_types(tablet):
    tablet.session.change(pedal="b")
    tablet.session.go("readiness")
    tablet.frames()
    for sign in "ab-4":
        tablet.key(sign)
    assert tablet.front.presenter.step == "equipment"
    assert tablet.sees("AB-4")


def test_tab_goes_from_one_number_to_the_next_before_it_moves_the_ring(tablet):
    tablet.session.go("readiness")
    tablet.frames()
    for key in ("a", "tab", "b"):
        tablet.key(key)
    act = tablet.front.presenter
    assert act.numbers == {"audiometer": "A", "earphones": "B"}
    tablet.key("tab")
    assert not tablet.app.stage.ring.idle and act.typing == "earphones"
    act.open_step("noise")
    tablet.app.stage.ring.clear()
    for key in ("4", "tab", "5", "tab", "6"):
        tablet.key(key)
    assert list(act.noise.values()) == ["4", "5", "6"]


def type_pin(tablet, digits):
    for digit in digits:
        tablet.key(digit)
    tablet.key("enter")


def test_a_pin_is_chosen_by_the_keyboard_too(tablet):
    tablet.touch("Choose a PIN for the screen")
    for sign in "25809":
        tablet.key(sign)
    tablet.key("backspace")
    tablet.key("enter")
    assert tablet.sees("The same PIN again") and tablet.session.screen_lock.needs_passphrase
    type_pin(tablet, "2580")
    assert tablet.sees("The PIN is set")
    tablet.key("enter")  # read: Enter presses the one button there is
    assert not tablet.sees("The PIN is set")
    assert tablet.session.screen_lock.try_pin("2580")


def test_a_pin_typed_otherwise_the_second_time_is_not_set(tablet):
    tablet.touch("Choose a PIN for the screen")
    type_pin(tablet, "2580")
    type_pin(tablet, "2589")
    assert tablet.sees("The two PINs differ") and tablet.session.screen_lock.needs_passphrase


def test_enter_chooses_nothing_where_there_is_a_choice(tablet):
    tablet.session.menu()
    tablet.frames()
    tablet.key("enter")
    assert tablet.sees("Readiness check") and tablet.screen == "settings"


def test_back_from_the_settings_leads_to_where_they_were_opened(tablet):
    tablet.session.go("give_back")
    tablet.frames()
    tablet.session.go("settings")
    tablet.frames()
    tablet.touch("Español")  # the screens are built anew
    tablet.frames()
    tablet.touch("Volver")
    assert tablet.screen == "give_back" and tablet.sees("Escribir la devolución")


def test_the_pin_brings_back_the_screen_that_was_covered(tablet):
    tablet.session.screen_lock.set_pin("2749")
    for screen in ("settings", "give_back", "add_child"):
        tablet.session.go(screen)
        tablet.frames()
        tablet.session.lock()
        tablet.session.lock()  # the app also goes to the background meanwhile
        tablet.frames()
        assert tablet.screen == "pin"
        for sign in "2749":
            tablet.key(sign)
        tablet.key("enter")
        assert tablet.screen == screen


def test_the_readiness_steps_lead_anywhere_and_tick_only_what_is_done(tablet):
    tablet.session.go("readiness")
    tablet.frames()
    screen = tablet.front
    lines = {line.text: line for line in screen.ids.steps.children}
    assert [line.text for line in reversed(screen.ids.steps.children)] == [
        "Equipment",
        "Calibration",
        "Cords, cushions",
        "Listening check",
        "Own thresholds",
        "Noise",
        "Verdict",
    ]
    chosen = lambda: [text for text, line in lines.items() if line.rank == "chosen"]  # noqa: E731
    assert chosen() == ["Equipment"] and not any(line.sign for line in lines.values())
    tablet.touch(lines["Listening check"])
    tablet.until(lambda: chosen() == ["Listening check"])
    assert not any(line.sign for line in lines.values())
    assert tablet.sees("on your own ears")  # whose ears, and what goes on them
    tablet.frames(20)  # the strip scrolls to the open step, and lets the finger before go
    tablet.touch(lines["Equipment"])
    tablet.until(lambda: chosen() == ["Equipment"])
    for sign in "am-04":
        tablet.key(sign)
    tablet.touch(screen._part.ids.earphones)
    for sign in "ep-04":
        tablet.key(sign)
    tablet.touch("Next")
    tablet.until(lambda: chosen() == ["Calibration"])
    assert lines["Equipment"].sign == "✓"
    tablet.frames(20)
    tablet.touch(lines["Equipment"])
    tablet.until(lambda: chosen() == ["Equipment"])
    assert screen._part.ids.audiometer.text == "AM-04"


def test_a_low_screen_keeps_the_open_step_in_sight_and_says_that_there_is_more_below(visit):
    from demo.window import Hand
    from fieldapp.widgets.box import more_below

    session = visit.session()
    session.station = visit.open(str(visit.store), PASSPHRASE)
    session.station.sign_in("MK")
    hand = Hand(session, (800, 480))
    session.change(text_scale=1.3)
    session.go("readiness")
    hand.frames()
    screen = hand.front
    lines = dict(zip(STEPS, reversed(screen.ids.steps.children), strict=True))
    del lines["verdict"]  # which only comes by checking
    for step, line in lines.items():
        screen.presenter.open_step(step)
        hand.frames(30)  # a tenth of a second after it is laid out
        strip = screen.ids.steps_scroll
        low, high = line.to_window(0, line.y)[1], line.to_window(0, line.top)[1]
        bottom, top = strip.to_window(0, strip.y)[1], strip.to_window(0, strip.top)[1]
        assert bottom - 1 <= low and high <= top + 1, step
    screen.presenter.open_step("noise")
    hand.frames()
    (scroll,) = [each for each in screen._part.walk(restrict=True) if type(each).__name__ == "Scroll"]
    chevron = [each for each in scroll.canvas.after.children if type(each).__name__ == "Color"][-1]
    assert more_below(scroll) and chevron.rgba == list(hand.app.look.strong)
    scroll.scroll_y = 0
    hand.frames()
    assert not more_below(scroll) and chevron.rgba[3] == 0
    hand.close()


def test_what_needs_no_scrolling_stands_on_top(tablet):
    from fieldapp.widgets.box import Column, Scroll, Space

    scroll, column = Scroll(size_hint=(None, None), size=(300, 40)), Column()
    for _ in range(3):
        column.add_widget(Space())
    scroll.add_widget(column)
    tablet.front.add_widget(scroll)
    tablet.frames()
    assert column.height > scroll.height
    scroll.scroll_y = 0  # as while a screen is still being laid out
    scroll.height = column.height + 100
    tablet.frames()
    assert scroll.scroll_y == 1
    assert abs(column.to_window(0, column.top)[1] - scroll.to_window(0, scroll.top)[1]) < 1


def test_a_row_of_the_yearly_counts_is_one_line_of_one_height(visit):
    from demo.window import Hand

    for size, scale in (((1280, 800), 1.0), ((800, 480), 1.3)):
        session = visit.session(visit.book)
        session.desk = visit.open(str(visit.book), PASSPHRASE)
        hand = Hand(session, size)
        session.change(text_scale=scale)
        session.go("counts")
        hand.frames()
        rows = list(reversed(hand.front.ids.table.children))
        assert len(rows) > 10
        for row in rows:
            assert row.rank == "bare"
            texts = [each for each in row.walk(restrict=True) if getattr(each, "text", "")]
            middles = [each.to_window(*each.center)[1] for each in texts]
            assert (
                len(texts) == 1 + 3 + 1 and max(middles) - min(middles) < 1
            )  # name, two grades, all, the way
            assert len({each.font_size for each in texts}) == 1
        heads = list(reversed(hand.front.ids.heads.children))
        figures = list(reversed(rows[0].ids.numbers.children))
        for head, figure in zip(heads, figures, strict=True):
            assert abs(head.to_window(head.right, 0)[0] - figure.to_window(figure.right, 0)[0]) < 1
        hand.close()
