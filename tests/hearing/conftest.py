"""Shared by the tests of the trade's rules: the presets as the app ships them."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from typing import Any

import pytest

import assets
from shared.hearing.protocol import Protocol

PRESETS = (
    "aaa-2011",
    "asha-1997",
    "who-2021",
    "california-2951",
    "texas-37-24",
    "illinois-675",
    "washington-246-760",
    "minnesota",
    "arizona-r9-13",
    "connecticut-10-214",
    "pennsylvania-23-5",
)


def _data(name: str) -> dict[str, Any]:
    return tomllib.loads(assets.path("protocols", f"{name}.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="session")
def preset_data() -> Callable[[str], dict[str, Any]]:
    return _data


@pytest.fixture(scope="session")
def preset() -> Callable[[str], Protocol]:
    return lambda name: Protocol.from_dict(_data(name))


@pytest.fixture(scope="session", params=PRESETS)
def each_preset(request: pytest.FixtureRequest) -> Protocol:
    return Protocol.from_dict(_data(request.param))
