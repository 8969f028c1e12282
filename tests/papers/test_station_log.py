"""Equipment log and station watch: every check is listed; the shares are those counted by hand."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pypdf

from fieldapp.papers import PaperContext, ReadinessRecord, WatchRecord, make_papers
from shared.records.entries import Entry, Kind


def text_of(path) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in pypdf.PdfReader(path).pages)


def test_every_check_is_in_the_log_with_what_was_found(few, visit, out) -> None:
    text = text_of(make_papers(out, few, visit, ["readiness-log"])["readiness-log"].path)
    assert text.count("AM-04 · EP-04") == len(visit.readiness)
    assert text.count("Ready at 20 dB HL") == 2
    assert "NOT READY" in text
    assert "the room is too noisy" in text
    assert "calibrated Aug 20, 2026" in text


def test_the_watch_report_counts_the_first_walks(school, visit, out) -> None:
    text = text_of(make_papers(out, school, visit, ["station-watch"])["station-watch"].path)
    walks = [s for child in school for s in child.screenings if s.device == "d1"]
    missed = Counter((a.ear, a.hz) for s in walks for a in s.answers if a.walk == 1 and not a.heard)
    failed = sum(not s.passed for s in walks)
    tones = [
        ("right", 1000),
        ("right", 2000),
        ("right", 4000),
        ("left", 1000),
        ("left", 2000),
        ("left", 4000),
    ]
    shares = " ".join(f"{100 * missed[tone] / len(walks):.0f} %" for tone in tones)
    assert f"Tablet A {len(walks)} {failed} ({100 * failed / len(walks):.0f} %) {shares}" in text
    assert "left 4000 Hz five of the last eight missed" in text


def test_records_are_read_from_entries() -> None:
    at = "2026-09-14T07:50:00-06:00"
    body = {"audiometer": "AM-1", "passed": False, "level_db_hl": None, "reasons": ["noisy"], "warnings": []}
    ready = Entry("1@d1", "s1", at, "MK", "v", Kind.READINESS_CHECKED, body)
    noticed = {"ear": "left", "hz": 4000, "what": "w", "since": "x"}
    raised = Entry("2@d2", "s2", at, "JR", "v", Kind.WATCH_RAISED, noticed)
    records = PaperContext.records_of([ready, raised], {"d1": "Tablet A"})
    assert records["readiness"] == (
        ReadinessRecord(at, "Tablet A", "MK", {"audiometer": "AM-1"}, False, None, ("noisy",), ()),
    )
    assert records["watches"] == (WatchRecord(at, "d2", "left", 4000, "w", "x"),)


def test_a_tone_not_clean_and_a_check_done_again_are_in_the_log(few, visit, out) -> None:
    facts = {
        "audiometer": "AM-04",
        "earphones": "EP-04",
        "listening": {"right": [1000, 2000, 4000], "left": [1000]},
        "not_clean": {"left": [4000, 2000]},
        "repeated": ["listening", "level"],
        "carried_over_from": "7@d1",
    }
    reason = "Not clean in the listening check: left earphone, 2000, 4000 Hz."
    record = ReadinessRecord("2026-09-14T10:00:00-06:00", "Tablet A", "MK", facts, False, None, (reason,), ())
    both = replace(visit, readiness=(record,))
    text = text_of(make_papers(out, few, both, ["readiness-log"])["readiness-log"].path)
    assert "NOT CLEAN: left 2000, 4000" in text
    assert (
        "Done again after the station watch: listening check, own thresholds. The rest was carried over."
        in text
    )
    assert "carried over from" not in text and "7@d1" not in text


def test_what_was_noted_besides_is_in_the_language_of_the_paper(few, visit, out) -> None:
    facts = {
        "audiometer": "AM-04",
        "inspection": {"cords": True, "cushions": False},
        "tone_normally_off": True,
        "noise": {"500": 34.5, "1000": 30},
        "earphone_type": "insert",
        "same_ear": {"right": {"1000": 5}, "left": {"1000": 10}},
        "room": "Library",
        "lamp": "green",  # of a later app
    }
    record = ReadinessRecord("2026-09-14T10:00:00-06:00", "Tablet A", "MK", facts, True, 20)
    said = {
        "en": (
            "looked at: cords in order, cushions NOT in order",
            "no tone until the key is pressed: yes",
            "noise in dB SPL: 500 Hz 34.5, 1000 Hz 30",
            "earphones: insert",
            "one ear through each earphone, in dB HL: right 1000 Hz 5; left 1000 Hz 10",
            "room: Library",
            "lamp: green",
        ),
        "es": (
            "revisado: cables en orden, cojines NO en orden",
            "sin tono hasta pulsar la tecla: sí",
            "ruido en dB SPL: 500 Hz 34.5, 1000 Hz 30",
            "auriculares: de inserción",
            "un mismo oído con cada auricular, en dB HL: derecho 1000 Hz 5; izquierdo 1000 Hz 10",
            "sala: Library",
            "lamp: green",
        ),
    }
    for language, lines in said.items():
        context = replace(visit, language=language, readiness=(record,))
        text = text_of(make_papers(out / language, few, context, ["readiness-log"])["readiness-log"].path)
        for line in lines:
            assert line in text, line
