"""The trade's rules. Pure: no clock, no randomness, no files, no screen."""
