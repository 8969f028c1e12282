"""Gathering over the local network: one visit's tablets and its lead, under the visit's own authority.

Specified in ``NEARBY.md`` beside this file. ``session`` and ``frames`` know no socket, ``line`` knows nothing else.
"""
