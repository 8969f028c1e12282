"""What is written down, and what it adds up to. Pure: no clock, no randomness, no files, no screen."""
