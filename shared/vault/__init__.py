"""The encrypted store: keys, the sealed journal, and TinyDB's storage and table on it.

``FORMAT.md`` beside this file is the norm for every byte and says what a thief gets and does not get.
"""

from shared.vault.keys import CHEAP, Cost
from shared.vault.vault import Vault, kind_of

__all__ = ["CHEAP", "Cost", "Vault", "kind_of"]
