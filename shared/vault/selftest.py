"""Self-test: known answers that the primitives must give before the vault trusts them. Once a process."""

from __future__ import annotations

from functools import cache


@cache
def run_once() -> None:
    """Run all known-answer tests; raises ``Refused`` where a primitive computes something else."""
