"""A sheet over the screen that asks or tells one thing. Nothing behind it can be pressed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.lang import Builder
from kivy.properties import StringProperty
from kivy.uix.floatlayout import FloatLayout

from fieldapp.widgets.box import Choices, later
from fieldapp.widgets.pads_signs import typing
from fieldapp.widgets.press import Press
from fieldapp.widgets.words import Words

Builder.load_file(str(Path(__file__).with_name("sheet.kv")))


MOST_IN_ONE_COLUMN = 6
FEW = 2  # choices that fit on one line with the words about them


class Over(FloatLayout):
    """Lies over the screen and lets no touch through."""

    def close(self) -> None:
        """Take it away."""
        if self.parent is not None:
            self.parent.remove_widget(self)

    def escape(self) -> None:
        """The Escape key: as if one had not asked."""
        self.close()

    def on_touch_down(self, touch: Any) -> bool:
        super().on_touch_down(touch)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        super().on_touch_move(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        super().on_touch_up(touch)
        return True


class Plate(Over):
    """A larger sheet with something to choose in it; what is added to it lands on its card."""

    title = StringProperty("")

    def __init__(self, title: str, **options: Any) -> None:
        super().__init__(title=title, **options)

    def add_widget(self, widget: Any, *args: Any, **options: Any) -> None:
        if "inside" in self.ids:
            self.ids.inside.add_widget(widget, *args, **options)
        else:
            super().add_widget(widget, *args, **options)


class Sheet(Over):
    """Title, words, and buttons under each other; many buttons in two columns.

    A choice of the rank "back" is the way back: it stands where every screen and sheet has it, before the title.
    """

    title = StringProperty("")
    words = StringProperty("")

    def __init__(
        self, title: str, words: str, choices: Sequence[tuple[str, str, Callable[[], Any]]], **options: Any
    ) -> None:
        super().__init__(title=title, words=words, **options)
        ways = [choice for choice in choices if choice[1] != "back"]
        self._can_go_back = len(ways) < len(choices)
        if not self._can_go_back:
            self._back = self.ids.back.__self__  # held: its height is still asked for
            self.ids.head.remove_widget(self._back)
        for text, rank, act in ways:
            button = Press(text=text, rank=rank)
            button.bind(on_release=lambda _button, act=act: self._take(act))
            self.ids.choices.add_widget(button)
        most = MOST_IN_ONE_COLUMN if App.get_running_app().look.roomy else 3
        self.ids.choices.cols = 2 if len(ways) > most else 1

    def enter(self) -> None:
        """The Enter key where no ring is: a sheet that only tells is read."""
        if not self._can_go_back and len(self.ids.choices.children) == 1:
            self.ids.choices.children[0].press()

    def escape(self) -> None:
        """Back; without it the last choice is always the one that changes nothing."""
        if self._can_go_back:
            self.close()
        else:
            self.ids.choices.children[0].press()

    def _take(self, act: Callable[[], Any]) -> None:
        self.close()
        act()


class TextSheet(Over):
    """Asks for a few words, in the upper half so that a keyboard covers nothing.

    ``check`` gets what was typed, also nothing, and says what is wrong with it; without a check something must be
    typed.
    """

    title = StringProperty("")
    label = StringProperty("")
    button = StringProperty("")

    def __init__(
        self,
        title: str,
        label: str,
        button: str,
        act: Callable[[str], Any],
        *,
        text: str = "",
        check: Callable[[str], str] | None = None,
        **options: Any,
    ) -> None:
        super().__init__(title=title, label=label, button=button, **options)
        self._act, self._check = act, check
        self.ids.field.text = text
        self.ids.field.take_focus()

    def take(self) -> None:
        """The words are typed; what is wrong with them is said, and the sheet then stays."""
        words = self.ids.field.text.strip()
        nothing = "" if words else App.get_running_app().t("sheet.nothing")
        self.ids.field.wrong = self._check(words) if self._check is not None else nothing
        if self.ids.field.wrong:
            later(self.ids.field.take_focus)  # the finger that leaves the button takes it away
            return
        self.close()
        self._act(words)


class PinSheet(Over):
    """Asks for some digits on the own pad."""

    title = StringProperty("")
    words = StringProperty("")
    typed = StringProperty("")

    def __init__(self, title: str, words: str, act: Callable[[str], Any], **options: Any) -> None:
        super().__init__(title=title, words=words, **options)
        self._act = act
        self.ids.pad.bind(on_key=lambda _p, sign: self.press(sign))

    def press(self, sign: str) -> None:
        """A key of the pad."""
        if sign == "✓":
            self.close()
            self._act(self.typed)
        else:
            self.typed = (self.typed + sign)[:8] if sign.isdigit() else self.typed[:-1]

    def keys(self) -> dict[str, Callable[[], Any]]:
        """The keyboard, as on the locked screen."""
        return {"enter": lambda: self.press("✓"), **typing(self.press)}


class Several(Choices):
    """Buttons of which any number may be chosen."""


class ManySheet(Over):
    """Any number of things to choose, and one button: what it says follows from them, and whether it may be pressed.

    ``groups`` are a line of words and the choices (key, text) below it.
    """

    title = StringProperty("")

    def __init__(
        self,
        title: str,
        groups: Sequence[tuple[str, Sequence[tuple[str, str]]]],
        button: Callable[[Collection[str]], tuple[str, bool]],
        act: Callable[[Collection[str]], Any],
        **options: Any,
    ) -> None:
        super().__init__(title=title, **options)
        self._chosen: list[str] = []
        self._says, self._act = button, act
        for words, choices in groups:
            several = self._place(words, len(choices) <= FEW, crowded=len(groups) > 1)
            for key, text in choices:
                choice = Press(text=text)
                choice.bind(on_release=lambda choice, key=key, text=text: self._turn(choice, key, text))
                several.add_widget(choice)
        self._show()

    def _place(self, words: str, few: bool, crowded: bool) -> Several:
        """Where the choices of a group go. Where several groups have little room, a few choices stay in sight below
        what scrolls; on a low screen many come before the words about them."""
        several = Several()
        said = Words(text=words, tone="soft")
        look = App.get_running_app().look
        holder, order = self.ids.inside, (said, several)
        if crowded and few and (look.low or look.enlarged):
            holder = self.ids.beside
            said.size_hint_x, said.pos_hint = 0.6, {"center_y": 0.5}
        elif crowded and look.low:
            order = (several, said)
        for part in order:
            holder.add_widget(part)
        return several

    def _turn(self, choice: Press, key: str, text: str) -> None:
        """Choose it, or not after all; the tick says it beside the colour."""
        if key in self._chosen:
            self._chosen.remove(key)
        else:
            self._chosen.append(key)
        chosen = key in self._chosen
        choice.rank, choice.text = ("chosen", f"✓ {text}") if chosen else ("quiet", text)
        self._show()

    def _show(self) -> None:
        self.ids.take.text, enough = self._says(self._chosen)
        self.ids.take.disabled = not enough

    def take(self) -> None:
        """What was chosen is meant."""
        self.close()
        self._act(tuple(self._chosen))


class Pause(Over):
    """Covers the screen: no name is left on it, and a touch goes on exactly there."""
