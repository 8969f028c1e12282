"""The short form of ``fuzz.py``: some thousand mutated inputs a target, mutated in the same way every time."""

from __future__ import annotations

import pytest

from tests.sync.nearby.fuzz_targets import TARGETS, fuzz


@pytest.mark.parametrize("name", TARGETS)
def test_mutated_inputs_are_refused_in_words_or_read(name):
    assert fuzz(name, 300 if "handout" in name else 1500) > 0
