"""The examiner of the invented district: what an audiologist would have measured of a child's ears, as a reply says it.

Levels are the child's true thresholds on the 5 dB grid. Invented throughout, and no reading of what they mean.
"""

from __future__ import annotations

from datetime import date
from random import Random
from typing import Any

from demo.children import EARS, make_hearer, recovered
from demo.school import Pupil

AIR = (250, 500, 1000, 2000, 3000, 4000, 6000, 8000)
BONE = (500, 1000, 2000, 4000)
LOUDEST = {"air": 110, "bone": 70}
NAMES = (
    "R. Oduya, Alder County hearing clinic",
    "S. Ivanchenko, audiologist",
    "Brook Street hearing centre",
    "",
)
ADVICE = ("seat near the front, better ear towards the class", "will be seen again in the spring", "")


def audiogram(seed: int, pupil: Pupil, day: date) -> dict[str, Any]:
    """The file that the office types in, for ``quietbell findings``."""
    rng = Random(f"examiner {seed} {pupil.number}")
    hearer = make_hearer(seed, pupil)
    by_air, by_bone = hearer.thresholds, recovered(hearer).thresholds
    reply: dict[str, Any] = {"examined": day.isoformat(), "earphones": rng.choice(("insert", "supra-aural"))}
    reply |= {
        name: text for name, text in (("examiner", rng.choice(NAMES)), ("note", rng.choice(ADVICE))) if text
    }
    for ear, other in zip(EARS, reversed(EARS), strict=True):
        air = {}
        for hz in AIR:
            masked = by_air[ear, hz] - by_bone[other, hz] >= 38
            air[str(hz)] = _cell(by_air[ear, hz], "air", masked)
        bone = {str(hz): _cell(by_bone[ear, hz], "bone", by_air[ear, hz] >= 25) for hz in BONE}
        reply[ear] = {"air": air, "bone": bone}
    return reply


def _cell(threshold: float, conduction: str, masked: bool) -> int | dict[str, Any]:
    """One threshold on the grid, or none at the loudest tone there is."""
    level = max(-10, 5 * round(threshold / 5))
    if level > LOUDEST[conduction]:
        return {"no_response_at_db_hl": LOUDEST[conduction], **({"masked": True} if masked else {})}
    return {"level_db_hl": level, "masked": True} if masked else level
