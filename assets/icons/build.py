"""Draws the app's icon, a bell at rest on the accent colour. Run by hand, never by the app.

python assets/icons/build.py
"""

from __future__ import annotations

from pathlib import Path

from PIL import Image, ImageDraw

ACCENT, PAPER, INK = "#1F5D4C", "#FFFDF8", "#F6E2B3"
HERE = Path(__file__).parent
SIDE = 1024  # drawn large, then made smaller


def icon() -> Image.Image:
    """The icon at full size."""
    image = Image.new("RGBA", (SIDE, SIDE), (0, 0, 0, 0))
    pen = ImageDraw.Draw(image)
    pen.rounded_rectangle((0, 0, SIDE - 1, SIDE - 1), radius=200, fill=ACCENT)
    pen.pieslice((292, 240, 732, 680), 180, 360, fill=PAPER)  # the bell's shoulders
    pen.polygon([(292, 458), (732, 458), (792, 690), (232, 690)], fill=PAPER)
    pen.rounded_rectangle((204, 668, 820, 736), radius=34, fill=PAPER)  # its lip
    pen.ellipse((472, 190, 552, 270), fill=PAPER)
    pen.pieslice((440, 700, 584, 844), 0, 180, fill=INK)  # the clapper, still
    return image


if __name__ == "__main__":
    drawn = icon()
    for side in (64, 256, 512):
        drawn.resize((side, side), Image.Resampling.LANCZOS).save(
            HERE / f"quietbell-{side}.png", optimize=True
        )
