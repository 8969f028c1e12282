"""What an audiogram's numbers come to, in words for the screen: averages, degrees by named scales, gaps, cautions.

No Kivy, no arithmetic: the figures come from ``shared.hearing.audiogram``.
"""

from __future__ import annotations

from collections.abc import Iterator

from fieldapp.screens.translation import Translator
from shared.hearing.audiogram import CLARK_1981, WHO_2021, Average, DegreeRead, Figures, figures
from shared.hearing.examination import Reading
from shared.hearing.fields import EARS

Line = tuple[str, str]  # heading, words


def figures_told(t: Translator, readings: tuple[Reading, ...], earphones: str = "") -> list[Line]:
    """The figures as (heading, words); nothing where nothing is typed."""
    if not readings:
        return []
    worked = figures(readings, earphones)
    return [*_averages(t, worked), *_degrees(t, worked), *_gaps(t, worked), *_cautions(t, worked)]


def sources(t: Translator) -> str:
    """The sources of the two scales."""
    return "\n".join(t.sentence(scale.source) for scale in (CLARK_1981, WHO_2021))


def _averages(t: Translator, worked: Figures) -> Iterator[Line]:
    for ear in EARS:
        own = worked.ears[ear]
        told = [f"{tones} Hz: {_mean(t, mean)}" for tones, mean in (_tones(own.three), _tones(own.four))]
        yield t("findings.average", ear=t(f"findings.ear_{ear}")), "\n".join(told)


def _tones(mean: Average) -> tuple[str, Average]:
    return ", ".join(map(str, mean.frequencies)), mean


def _mean(t: Translator, mean: Average) -> str:
    if mean.db_hl is not None:
        return f"{mean.db_hl:.1f} dB HL"
    if mean.not_tested:
        return t("findings.not_tested", hz=", ".join(map(str, mean.not_tested)))
    return t("findings.silent", hz=", ".join(map(str, mean.no_response)))


def _degrees(t: Translator, worked: Figures) -> Iterator[Line]:
    clark = [f"{t(f'findings.ear_{ear}')}: {_degree(t, worked.ears[ear].clark)}" for ear in EARS]
    yield t("findings.scale", scale=t("findings.clark")), "\n".join(clark)
    yield t("findings.scale", scale=t("findings.who")), _degree(t, worked.who)


def _degree(t: Translator, read: DegreeRead) -> str:
    if read.level is None:
        return t("findings.no_degree")
    word = t(f"findings.degree_{read.word.replace(' ', '-')}")
    return t("findings.degree", word=word, level=f"{read.level:.1f}")


def _gaps(t: Translator, worked: Figures) -> Iterator[Line]:
    told = [
        f"{t(f'findings.ear_{ear}')}: "
        + ", ".join(f"{hz} Hz {gap} dB" for hz, gap in worked.ears[ear].gaps.items())
        for ear in EARS
        if worked.ears[ear].gaps
    ]
    if told:
        yield t("findings.gaps"), "\n".join(told)


def _cautions(t: Translator, worked: Figures) -> Iterator[Line]:
    told = [
        t("findings.crossed", column=t(f"findings.{ear}_{way}"), hz=", ".join(map(str, tones)))
        for ear in EARS
        for way, tones in (("air", worked.ears[ear].air_crossed), ("bone", worked.ears[ear].bone_crossed))
        if tones
    ]
    if told:
        yield t("findings.caution"), "\n".join([*told, t("findings.crossed_words")])
