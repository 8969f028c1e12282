"""The papers' invented school, for the exports."""

from __future__ import annotations

from tests.papers.conftest import out, school, visit

__all__ = ["out", "school", "visit"]
