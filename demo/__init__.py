"""An invented district: its children, their screening days as scripts, and the runner that plays them.

Nothing here is imported by the app. Every name, address, school and result is invented.
"""
