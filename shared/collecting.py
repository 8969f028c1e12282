"""One thing: leaving Python's garbage collector be while many objects are made that are all needed."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def no_collecting() -> Iterator[None]:
    """No search for garbage inside; among hundreds of thousands of fresh objects it would double the time."""
    collecting = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if collecting:
            gc.enable()
