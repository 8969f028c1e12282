"""String distances against independent libraries (rapidfuzz, jellyfish) and published figures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.matching.distance import edits, jaro, jaro_winkler, may_be_alike, one_off

jellyfish = pytest.importorskip("jellyfish")
rapidfuzz_distance = pytest.importorskip("rapidfuzz.distance")

words = st.text(alphabet="aábcdeñ", max_size=9)


@given(words, words)
def test_edits_agree_with_rapidfuzz_optimal_string_alignment(a: str, b: str) -> None:
    assert edits(a, b) == rapidfuzz_distance.OSA.distance(a, b)


@given(words, words, st.integers(0, 4))
def test_edits_stop_at_their_limit(a: str, b: str, limit: int) -> None:
    true = rapidfuzz_distance.OSA.distance(a, b)
    assert edits(a, b, limit) == min(true, limit + 1)


@given(words, words)
def test_one_off_is_an_edit_distance_of_one(a: str, b: str) -> None:
    assert one_off(a, b) == (rapidfuzz_distance.OSA.distance(a, b) == 1)
    assert one_off(a, b) == one_off(b, a)


@given(words, words)
def test_jaro_agrees_with_jellyfish_and_rapidfuzz(a: str, b: str) -> None:
    if a or b:
        assert jaro(a, b) == pytest.approx(rapidfuzz_distance.Jaro.similarity(a, b))
        assert jaro(a, b) == pytest.approx(jellyfish.jaro_similarity(a, b))


@given(words, words)
def test_jaro_winkler_agrees_with_jellyfish_and_rapidfuzz(a: str, b: str) -> None:
    if a or b:
        assert jaro_winkler(a, b) == pytest.approx(jellyfish.jaro_winkler_similarity(a, b))
        assert jaro_winkler(a, b) == pytest.approx(rapidfuzz_distance.JaroWinkler.similarity(a, b))


@given(words.filter(bool), words.filter(bool), st.sampled_from([0.75, 0.82, 0.9]))
def test_the_cheap_look_hides_nothing(a: str, b: str, likeness: float) -> None:
    if (
        rapidfuzz_distance.JaroWinkler.similarity(a, b) >= likeness
        or rapidfuzz_distance.OSA.distance(a, b) <= 2
    ):
        assert may_be_alike(a, b, likeness)


@pytest.mark.parametrize(
    ("a", "b", "plain", "raised"),
    [
        ("MARTHA", "MARHTA", 0.944, 0.961),
        ("DIXON", "DICKSONX", 0.767, 0.813),
        ("DWAYNE", "DUANE", 0.822, 0.840),
    ],
)
def test_published_examples(a: str, b: str, plain: float, raised: float) -> None:
    """Winkler's often printed examples (figures from memory, and as the two libraries give them)."""
    assert jaro(a, b) == pytest.approx(plain, abs=0.0006)
    assert jaro_winkler(a, b) == pytest.approx(raised, abs=0.0006)
