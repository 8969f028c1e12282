"""The start on an Android tablet: where the store lies, where files are exchanged, then the app.

Only the way from Android's folders to ``fieldapp.app.run`` lives here. Screen capture is blocked before this
runs, by the activity itself (``java``).
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

STORE = "quietbell.store"


def store_path(environment: Mapping[str, str]) -> Path:
    """The store in the app's own folder, which no other app and no cable reaches."""
    return Path(environment["ANDROID_PRIVATE"]) / "quietbell" / STORE


def exchange_folder(private: Path) -> Path:
    """Where handouts are put and returns and papers are taken from, by cable or a file manager.

    It is the app's own folder on the shared storage, which needs no permission. Only sealed files and papers
    that somebody asked for are ever written there.
    """
    try:
        from jnius import autoclass  # type: ignore[import-not-found,unused-ignore]

        activity = autoclass("org.kivy.android.PythonActivity").mActivity
        shared = activity.getExternalFilesDir(None)
    except ImportError:
        shared = None
    return Path(shared.getAbsolutePath()) if shared is not None else private


def main() -> None:
    """Open the app on this tablet's store, or on the welcome screen where there is none yet."""
    from fieldapp.app import run

    store = store_path(os.environ)
    store.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    run(store, exchange=exchange_folder(store.parent))
