"""What every screen and presenter has in common (the screen's side needs Kivy, the presenter's does not)."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fieldapp.screens.session import Session
from shared.errors import QuietbellError


class Presenter:
    """Holds what a screen shows and does; ``changed`` is set by the screen and called after every change.

    A presenter that has to get ready has ``enter`` with the arguments that its screen is shown with.
    """

    def __init__(self, session: Session) -> None:
        self.session = session
        self.t = session.t
        self.changed: Callable[[], None] = lambda: None

    def leave(self) -> None:
        """Another screen is about to be shown."""

    def guarded(self, act: Callable[[], Any]) -> bool:
        """Do it; an error is shown and nothing on the screen moves on. True where it was done."""
        try:
            act()
        except QuietbellError as error:
            self.session.trouble(error)
            return False
        return True
