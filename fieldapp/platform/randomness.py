"""Random bytes and ids from the operating system."""

from __future__ import annotations

import base64
import secrets


def random_bytes(count: int) -> bytes:
    """``count`` random bytes, fit for keys."""
    return secrets.token_bytes(count)


def new_device_id() -> str:
    """A new id for a device, a visit or a tablet: 13 letters and digits, 65 random bits."""
    return base64.b32encode(secrets.token_bytes(9)).decode("ascii").lower()[:13]
