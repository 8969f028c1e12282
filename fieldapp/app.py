"""The door to the touch app: sets Kivy up before Kivy is imported, then opens the window.

Kivy gets a private folder of its own and keeps neither a log file nor a configuration there, so that nothing
that is shown on the screen can end up in a file.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

from fieldapp.platform.display import display, fitting
from shared.errors import Refused

#: The window of a computer, in pixels, where its screen is not smaller.
SIZE = (1280, 800)


def private_folder() -> Path:
    """Where the app keeps its own settings, never anything about a child."""
    root = os.environ.get("XDG_DATA_HOME") or os.environ.get("ANDROID_PRIVATE")
    return (Path(root) if root else Path.home() / ".local" / "share") / "quietbell"


def set_kivy_up(home: Path, size: tuple[int, int] | None = None) -> None:
    """Prepare the environment and Kivy's configuration; must run before anything of Kivy is imported."""
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    kivy_home = home / "kivy"
    kivy_home.mkdir(exist_ok=True, mode=0o700)
    os.environ["KIVY_HOME"] = str(kivy_home)
    os.environ["KIVY_NO_ARGS"] = "1"
    os.environ["KIVY_NO_CONFIG"] = "1"
    os.environ["KIVY_NO_FILELOG"] = "1"
    os.environ["KIVY_CLIPBOARD"] = "dummy"  # names do not go to the system's clipboard
    import kivy
    from kivy.config import Config
    from kivy.logger import Logger

    kivy.kivy_options["cutbuffer"] = ()  # the X window system's second clipboard, likewise
    Logger.addFilter(lambda record: "Cutbuffer" not in str(record.msg))  # and Kivy need not complain of it

    Config.set("input", "mouse", "mouse,disable_multitouch")
    Config.set("kivy", "log_level", "warning")
    Config.set("kivy", "log_enable", "0")
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("kivy", "window_icon", "")
    Config.set("graphics", "minimum_width", "0")
    Config.set("graphics", "minimum_height", "0")
    Config.set("graphics", "multisamples", "0")  # the shapes smooth their own edges
    if size is not None:
        Config.set("graphics", "width", str(size[0]))
        Config.set("graphics", "height", str(size[1]))


def open_store(path: str, passphrase: str) -> Any:
    """Open a tablet store as a station or a visit book as a desk."""
    from fieldapp.services.station import Station
    from shared.vault import kind_of

    if kind_of(Path(path)) == "tablet":
        return Station.open(Path(path), passphrase)
    from fieldapp.services.desk import Desk

    return Desk.open(Path(path), passphrase)


def prepare_book(path: str, passphrase: str, **visit: Any) -> Any:
    """Make a visit book."""
    from fieldapp.services.desk import Desk

    return Desk.prepare(Path(path), passphrase, **visit)


def receive_handout(handout: Path, store: str, passphrase: str) -> Any:
    """Make a tablet store from a handout."""
    from fieldapp.services.station import Station

    return Station.receive(handout, Path(store), passphrase)


def run(store_path: str | Path | None = None, exchange: Path | None = None) -> None:
    """Open the touch app on a tablet store or a visit book; returns when the window is closed.

    Without ``store_path`` this device's own store is opened or made. ``exchange`` is where handouts and returns
    come and go; without it that is beside the store. Raises ``Refused`` where there is no screen.
    """
    screen = display()
    if not screen.seen:
        raise Refused(
            "There is no screen here to open the app on.",
            todo="Open it where there is one, or use the commands: quietbell --help.",
        )
    home = private_folder()
    set_kivy_up(home, size=fitting(SIZE, screen.usable))
    own = home / "quietbell.store"
    if store_path is None:
        store_path, exchange = own, exchange or Path.cwd()
    from fieldapp.screens.quietbell import QuietbellApp
    from fieldapp.screens.session import Session
    from fieldapp.screens.settings_file import read, spoken_here

    settings_path = home / "settings.json"
    session = Session(
        opener=open_store,
        prepare_book=prepare_book,
        receive_handout=receive_handout,
        store_path=str(store_path),
        own_path=str(own),
        exchange=exchange,
        settings=read(settings_path, spoken_here(os.environ)),
        settings_path=settings_path,
    )
    QuietbellApp(session, first="unlock" if Path(store_path).exists() else "welcome").run()
