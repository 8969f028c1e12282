"""Keeps the screen out of screenshots and the list of recent apps, where the system can do that (Android)."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from kivy.utils import platform

FLAG_SECURE = 0x2000  # android.view.WindowManager.LayoutParams.FLAG_SECURE


def hide_from_screenshots() -> bool:
    """Ask the system for it; gives whether the system has such a thing. Not tried on a device yet."""
    if platform != "android":
        return False
    on_ui_thread: Any = import_module("android.runnable").run_on_ui_thread
    activity = import_module("jnius").autoclass("org.kivy.android.PythonActivity").mActivity
    on_ui_thread(lambda: activity.getWindow().addFlags(FLAG_SECURE))()
    return True
