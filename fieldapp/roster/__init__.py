"""Class lists as schools send them, read into rows or into reasons."""
