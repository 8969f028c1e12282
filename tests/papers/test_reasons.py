"""Why a child stands where it does, in Spanish: every reason of every preset, worked out by the rules themselves."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import pytest

from fieldapp.papers.wording import words
from fieldapp.sentences import sentence
from fieldapp.services.presets import load_protocol, preset_names
from shared.hearing.followup import StageResult, disposition, unreliable_words
from shared.hearing.not_tested import EAR_SIGNS, could_not_test, ear_problem
from shared.hearing.referral import ThresholdOutcome
from shared.records.standing import Person, Standing, Status

DAY = date(2026, 9, 14)
# Words that only English has; a protocol's own title is taken out before they are looked for.
ENGLISH = re.compile(
    r"\b(the|by|at|due|from|to|ear|right|left|line|test|screening|rescreen|missed|refer|tones?|within|days|set)\b",
    re.I,
)


def thresholds(worse: int | None, day: date, *, whole: bool = True) -> ThresholdOutcome:
    tones = (250, 500, 1000, 2000, 3000, 4000, 6000, 8000) if whole else (1000,)
    return ThresholdOutcome(day, {"right": dict.fromkeys(tones, worse), "left": dict.fromkeys(tones, 5)})


def reasons(name: str):
    """All reasons that this preset gives to some courses of events."""
    protocol = load_protocol(name)
    later = [DAY + timedelta(n) for n in (0, 3, 30, 60, 120)]
    for length in (1, 2, 3):
        for passed in product((True, False), repeat=length):
            for days in (later[:length], [DAY, *later[2:]][:length]):
                yield disposition(
                    protocol, [StageResult(d, p) for d, p in zip(days, passed, strict=True)]
                ).why
    for worse, whole in product((5, 30, 60, None), (True, False)):
        tests = [thresholds(worse, DAY + timedelta(30), whole=whole), thresholds(worse, DAY + timedelta(90))]
        failed = [StageResult(DAY, False), StageResult(DAY + timedelta(20), False)]
        for some in (tests[:1], tests):
            yield disposition(protocol, failed, some).why
    for age in (None, 3, 4, 9):
        yield could_not_test(protocol, DAY, age).why


@pytest.mark.parametrize("name", preset_names())
def test_no_reason_of_a_preset_stays_english(name):
    found = set(reasons(name))
    assert len(found) > 4
    title = sentence(load_protocol(name).title, "es")
    for english in found:
        spanish = sentence(english, "es").replace(title, "")
        assert spanish and not ENGLISH.search(spanish), (english, spanish)


def test_a_referral_with_both_ears_and_a_test_that_is_not_reliable_is_spanish_throughout():
    said = "Referral by X: right ear on or beyond the line at 1000, 2000 Hz; left ear at 40 dB HL or beyond at 500 Hz."
    unreliable = unreliable_words([("right", 4000), ("left", 500)])
    assert sentence(f"{said} {unreliable}", "es") == (
        "Derivación según X: oído derecho en la línea o más allá a 1000, 2000 Hz; oído izquierdo con 40 dB HL o más a "
        "500 Hz. No es fiable (derecho 4000 Hz; izquierdo 500 Hz): los intentos difieren en más de 5 dB. Conviene "
        "repetir la prueba de umbral."
    )


@pytest.mark.parametrize("signs", [(), ("drainage", "odour"), *((sign.key,) for sign in EAR_SIGNS)])
def test_an_ear_problem_is_spanish(signs):
    assert not ENGLISH.search(sentence(ear_problem(signs).why, "es"))


def standing(why: str, status: Status = Status.REFERRED) -> Standing:
    return replace(Standing("1@a", ("1@a",), Person("Ada", "Abara"), status), why=why)


def test_days_within_a_reason_are_written_as_elsewhere_on_the_paper():
    why = "Second threshold test due from 2026-10-20: left ear at 40 dB HL or beyond at 500 Hz."
    assert "from October 20, 2026:" in words("en").why(standing(why))
    assert "desde el 20 de octubre de 2026:" in words("es").why(standing(why))


def test_a_closed_case_says_its_last_step_in_words():
    assert words("en").why(standing("no-loss", Status.CLOSED)) == "seen, no loss found"
    assert words("es").why(standing("no-loss", Status.CLOSED)) == "visto, sin pérdida"
    assert words("es").why(standing("")) == ""


@pytest.mark.parametrize("name", preset_names())
def test_the_prose_of_every_preset_is_known_in_spanish(name):
    protocol = load_protocol(name)
    data = protocol.to_dict()
    exempt = [each[part] for each in data["exemptions"] for part in ("words", "keep") if each[part]]
    tried = [each["action"] for each in data["could_not_test"]]
    for said in (protocol.source, *protocol.cautions, *exempt, *tried):
        assert sentence(said, "es") != said


def test_a_source_keeps_the_published_title_and_says_the_rest_in_spanish():
    said = sentence(load_protocol("who-2021").source, "es")
    assert "Hearing screening: considerations for implementation, 2021" in said
    assert said.endswith("la publicación se vio, sus cifras son de memoria")
    assert sentence(load_protocol("asha-1997").title, "es").endswith(", 1997 (de 5 a 18 años)")
