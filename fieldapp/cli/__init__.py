"""The ``quietbell`` command: its words, its passphrases, its exit status. What it does is in ``services``."""

from fieldapp.cli.main import main

__all__ = ["main"]
