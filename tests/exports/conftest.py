"""The papers' invented school, for the exports."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

_FILE = Path(__file__).parents[1] / "papers" / "conftest.py"
_SPEC = importlib.util.spec_from_file_location("papers_school", _FILE)
assert _SPEC is not None
assert _SPEC.loader is not None
_SCHOOL = sys.modules["papers_school"] = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(_SCHOOL)

school, visit, out = _SCHOOL.school, _SCHOOL.visit, _SCHOOL.out
