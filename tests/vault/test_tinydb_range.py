"""The guard over the override of TinyDB's private methods.

``SealedTable`` replaces ``Table._read_table`` and ``Table._update_table``. That is right for the versions named
here and in ``pyproject.toml``. When this test fails after an update of TinyDB: read the new ``table.py``, run
``tests/vault`` on it, then widen both ranges together.
"""

from __future__ import annotations

import inspect
import tomllib
from importlib.metadata import version
from pathlib import Path

from tinydb.table import Table

from shared.vault.storage import SealedTable

LOWEST, BELOW = (4, 8), (4, 10)


def test_the_installed_tinydb_is_in_the_range():
    installed = tuple(map(int, version("tinydb").split(".")[:2]))
    assert LOWEST <= installed < BELOW


def test_the_project_asks_for_the_same_range():
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())
    wanted = next(one for one in project["project"]["dependencies"] if one.startswith("tinydb"))
    assert wanted == f"tinydb>={LOWEST[0]}.{LOWEST[1]},<{BELOW[0]}.{BELOW[1]}"


def test_the_private_methods_are_still_the_only_way_to_the_storage():
    assert list(inspect.signature(Table._update_table).parameters) == ["self", "updater"]
    assert list(inspect.signature(Table._read_table).parameters) == ["self"]
    for name, method in inspect.getmembers(Table, inspect.isfunction):
        if name not in ("_read_table", "_update_table", "__init__", "storage", "__repr__"):
            assert "_storage" not in inspect.getsource(method), f"{name} reaches past the override"


def test_the_table_still_keeps_what_a_refused_write_must_reset():
    """``_forget`` puts back ``_next_id`` and clears the query cache: both must still be what TinyDB uses."""
    source = inspect.getsource(Table)
    assert "self._next_id" in source and "self._query_cache" in source
    assert "_forget" in SealedTable.__dict__
