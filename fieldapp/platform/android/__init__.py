"""How Quietbell starts on an Android tablet, and the recipe that builds its package (README.md)."""
