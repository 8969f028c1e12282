"""Gathering over the local network: one visit's tablets and its lead, under the visit's own authority.

Specified in ``sync/NEARBY.md``. ``session`` and ``frames`` know no socket, ``line`` knows nothing else.
"""
