"""The encrypted store: keys, the sealed journal, and TinyDB's storage and table on it."""
