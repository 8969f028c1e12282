"""LOINC codes for pure-tone air-conduction thresholds, by ear and frequency in Hz.

Read in the value sets of an HL7 implementation guide for post-acute care (all 22); the codes for 500 to 8000 Hz
agree in three other public files. One public file swaps the labels of 89024-4 and 89023-6: this table follows the
value sets. LOINC carries no "HL": the reference is said in text beside every value.

This material contains content from LOINC (http://loinc.org). LOINC is copyright Regenstrief Institute, Inc. and
the Logical Observation Identifiers Names and Codes (LOINC) Committee and is available at no cost under the license
at http://loinc.org/license. LOINC is a registered United States trademark of Regenstrief Institute, Inc.
"""

from __future__ import annotations

SYSTEM = "http://loinc.org"
PANEL = "89015-2"
PANEL_NAME = "Pure tone (air conduction) threshold audiometry panel"

_LEFT = {
    250: "91375-6",
    500: "89024-4",
    750: "91379-8",
    1000: "89016-0",
    1500: "91373-1",
    2000: "89018-6",
    3000: "89020-2",
    4000: "89022-8",
    5000: "91377-2",
    6000: "89026-9",
    8000: "89028-5",
}
_RIGHT = {
    250: "91374-9",
    500: "89025-1",
    750: "91378-0",
    1000: "89017-8",
    1500: "91372-3",
    2000: "89019-4",
    3000: "89021-0",
    4000: "89023-6",
    5000: "91376-4",
    6000: "89027-7",
    8000: "89029-3",
}
#: (ear, Hz) -> code. A frequency without a code (125 Hz) is exported with text only.
THRESHOLDS: dict[tuple[str, int], str] = {
    **{("left", hz): code for hz, code in _LEFT.items()},
    **{("right", hz): code for hz, code in _RIGHT.items()},
}
