"""The theme measured out for the present window: colours as Kivy wants them, lengths in pixels."""

from __future__ import annotations

from typing import Any

from kivy.core.window import Window
from kivy.metrics import Metrics, dp, mm, sp

from fieldapp.widgets import theme


class Look:
    """What every ``.kv`` file asks for sizes and colours, as ``app.look``. Replaced as a whole when a
    setting or the window changes; screens are built anew then."""

    def __init__(self, palette: str = "calm", hand: str = "right") -> None:
        self.left_handed = hand == "left"
        colours = theme.PALETTES[palette]
        for name in theme.names():
            setattr(self, name, [*theme.rgb(getattr(colours, name)), 1.0])
        self.clear = [0, 0, 0, 0]
        self.hex = colours
        width, height = Window.size
        self.wide = width / Metrics.density
        self.high = height / Metrics.density
        self.roomy = self.high >= theme.ROOMY_FROM
        self.small, self.body, self.large, self.title = (
            sp(size) for size in (theme.SMALL, theme.BODY, theme.LARGE, theme.TITLE)
        )
        self.display = sp(theme.DISPLAY if self.roomy else 28)
        # The frequency is the one thing read from an arm's length; it gives way where the screen is low.
        self.enlarged = Metrics.fontscale > 1.15  # larger words than most choose
        self.low = self.high < 560  # dp: so low, no line may be wasted
        #: Whether there is room for the longer words.
        self.spare = self.roomy and not self.enlarged and self.wide >= 1000
        self.numeral = min(sp(theme.NUMERAL), height * (0.165 if self.roomy else 0.14))
        if self.roomy:  # larger words need some of its room
            self.numeral /= 1 + max(0.0, Metrics.fontscale - 1) * 0.7
        if not self.roomy:
            self.title = sp(22)
            self.large = sp(20)
            self.body = sp(18)
        # What must stay on one line within a narrow key may be set in these: never smaller than words are unenlarged.
        self.small_sizes = [max(self.small * part, dp(theme.SMALL)) for part in (1, 0.94, 0.88, 0.82)]
        self.gap, self.pad, self.seam = (self._length(pair) for pair in (theme.GAP, theme.PAD, theme.SEAM))
        # What holds a line of text grows with the text, though not in full measure.
        growth = 1 + max(0.0, Metrics.fontscale - 1) * 0.7
        self.bar, self.target, self.row = (
            self._length(pair) * growth for pair in (theme.BAR, theme.TARGET, theme.ROW)
        )
        self.least = dp(theme.LEAST_TARGET)
        self.answer = max(mm(theme.LEAST_ANSWER_MM), dp(76)) + dp(2)
        self.corner = dp(theme.CORNER)
        self.hair, self.firm = dp(theme.HAIR[palette]), dp(theme.FIRM[palette])
        self.thick = dp(theme.THICK)
        self.stripe = dp(theme.STRIPE if self.roomy else 16)
        self.grown = Metrics.fontscale

    def _length(self, pair: tuple[float, float]) -> float:
        return float(dp(pair[0] if self.roomy else pair[1]))

    def ear(self, ear: str) -> Any:
        """The colour of an ear, ``right`` or ``left``."""
        return getattr(self, ear)
