"""A label that draws names in every bundled script; see ``script_text`` for how."""

from __future__ import annotations

from typing import Any

from kivy.graphics.texture import Texture

from fieldapp.widgets.script_text import Drawn, cut, drawn, picture, together, turned

LEAST_SCALE = 0.6  # how far a shaped text may shrink to fit on its line before it is cut


class Scripted:
    """Mixed into a label, before it."""

    text: str
    texture: Any

    def texture_update(self, *ignored: Any) -> None:
        """Draw the text in the way that its script needs."""
        kind = Drawn.PLAIN if self.markup else drawn(self.text)  # type: ignore[attr-defined]
        if kind is Drawn.SHAPED:
            self._shape()
            return
        if kind is Drawn.TURNED:
            self._label.text = turned(self.text)  # type: ignore[attr-defined]
        elif kind is Drawn.PLAIN:
            self._label.text = together(self.text)  # type: ignore[attr-defined]
        super().texture_update(*ignored)  # type: ignore[misc]

    def _shape(self) -> None:
        label: Any = self
        room, bold, size = label.text_size[0] or 0, bool(label.bold), round(label.font_size)
        if room and label.shorten:
            wide = picture(label.text, bold, size)[0]
            if wide > room:
                size = int(label.font_size * max(LEAST_SCALE, room / wide))
            wide, high, alpha = picture(cut(label.text, bold, size, room), bold, size)
        else:
            wide, high, alpha = picture(label.text, bold, size, int(room), label.halign == "center")
        line = int(room) if room and label.halign == "left" else min(wide, int(room or wide))
        ink = (label.disabled_color if label.disabled else label.color)[:3]
        colour = bytes(round(channel * 255) for channel in ink)
        pixels = bytearray((colour + b"\0") * (line * high))
        for row in range(high):
            shown = alpha[row * wide : row * wide + min(wide, line)]
            start = row * line * 4 + 3
            pixels[start : start + len(shown) * 4 : 4] = shown
        texture = Texture.create(size=(line, high), colorfmt="rgba")
        texture.blit_buffer(bytes(pixels), colorfmt="rgba", bufferfmt="ubyte")
        texture.flip_vertical()
        label.texture = texture
        label.texture_size = list(texture.size)
