"""One folder a screen: screen.py (Kivy glue), screen.kv (look), presenter.py (no Kivy)."""
