"""One page of a paper as a picture: it can be moved where it is larger than its room, and swiped where it is not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.graphics.texture import Texture
from kivy.lang import Builder
from kivy.metrics import dp
from kivy.properties import ListProperty, ObjectProperty
from kivy.uix.scrollview import ScrollView
from kivy.uix.widget import Widget

from fieldapp.platform.pages import Picture

Builder.load_file(str(Path(__file__).with_name("leaf.kv")))

SWIPE = 60  # dp


class PagePicture(Widget):
    """The page itself, in the middle of its room."""

    texture = ObjectProperty(None, allownone=True)
    page = ListProperty([0, 0])  # its size in pixels


class Leaf(ScrollView):
    """Shows one picture. ``on_swipe`` tells +1 for a swipe to the next page, -1 for one back."""

    __events__ = ("on_swipe",)

    def __init__(self, **options: Any) -> None:
        super().__init__(**options)
        self._shown: Picture | None = None
        self.picture = PagePicture()
        self.add_widget(self.picture)
        self.bind(size=lambda *_: self._place())

    def on_swipe(self, by: int) -> None:
        """The page was swiped."""

    def show(self, picture: Picture | None) -> None:
        """Show this picture from its top, or nothing. Must be called on the main thread."""
        if picture is self._shown:
            return
        self._shown = picture
        if picture is None:
            self.picture.texture, self.picture.page = None, [0, 0]
        else:
            texture = Texture.create(size=(picture.wide, picture.high), colorfmt="rgba")
            texture.blit_buffer(picture.pixels, colorfmt="rgba", bufferfmt="ubyte")
            texture.flip_vertical()
            self.picture.texture, self.picture.page = texture, [picture.wide, picture.high]
        self._place()
        self.scroll_x, self.scroll_y = 0.5, 1

    def _place(self) -> None:
        wide, high = self.picture.page
        self.picture.size = max(wide, self.width), max(high, self.height)
        self.do_scroll_x, self.do_scroll_y = wide > self.width + 1, high > self.height + 1

    def on_touch_up(self, touch: Any) -> bool:
        across, down = touch.x - touch.ox, touch.y - touch.oy
        swiped = abs(across) > dp(SWIPE) and abs(across) > 1.5 * abs(down)
        if swiped and self.collide_point(touch.ox, touch.oy) and not self.do_scroll_x:
            self.dispatch("on_swipe", 1 if across < 0 else -1)
        return bool(super().on_touch_up(touch))
