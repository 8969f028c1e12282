"""What tests of several rooms say alike: a passphrase, a station that is ready, answers of a walk (``aaa-2011``)."""

from __future__ import annotations

from typing import Any

PASSPHRASE = "seven quiet bells ring"

#: The facts of a readiness check that passes at 20 dB HL, as in README.md's script; levels in dB HL.
READY: dict[str, Any] = {
    "audiometer": "AM-04",
    "earphones": "EP-04",
    "calibrated": "2026-08-20",
    "listening": {"right": [1000, 2000, 4000], "left": [1000, 2000, 4000]},
    "own_thresholds": {
        "right": {"1000": 5, "2000": 5, "4000": 0},
        "left": {"1000": 10, "2000": 5, "4000": 5},
    },
}

#: One tone of the right ear is missed, and again after the earphones were reseated: a rescreen.
FAIL = "++-+++/++-+++"
#: Nothing is heard in the left ear, before and after reseating: as a dead left earphone makes it.
DEAD_LEFT = "+++---/+++---"
