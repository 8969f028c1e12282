"""The lead's and the office's pictures."""

from __future__ import annotations

from collections.abc import Iterator

from demo.gallery_visit import GalleryVisit
from demo.window import Hand


def pictures(hand: Hand, visit: GalleryVisit, watch: object) -> Iterator[str]:
    """The visit book's screens."""
    yield "book-unlock"
