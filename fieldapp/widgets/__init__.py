"""The app's own controls and its theme."""
