"""For all tests: the long forms run only when asked for, ``pytest -m long PATH``."""

from __future__ import annotations

import pytest


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Skip what is marked ``long`` unless the marker was named."""
    if "long" not in config.option.markexpr:
        for item in items:
            if item.get_closest_marker("long"):
                item.add_marker(pytest.mark.skip(reason="long form: run with -m long"))
