"""What the screens and the command line both call; no Kivy here."""
