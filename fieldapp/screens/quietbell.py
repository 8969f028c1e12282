"""The Kivy application: fonts, the look, the stage, and locking when the app goes to the background."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from kivy.app import App
from kivy.clock import Clock
from kivy.core.window import Window
from kivy.metrics import Metrics

from fieldapp.screens.secure_window import hide_from_screenshots
from fieldapp.screens.session import Session
from fieldapp.widgets import fonts
from fieldapp.widgets.look import Look

ICON = Path(__file__).parent.parent.parent / "assets" / "icons" / "quietbell-256.png"


class QuietbellApp(App):  # type: ignore[misc]
    """Made with a session, run once."""

    title = "Quietbell"
    use_kivy_settings = False
    icon = str(ICON)
    kv_directory = ""

    def __init__(self, session: Session, first: str = "unlock", **options: Any) -> None:
        super().__init__(**options)
        self.session = session
        self.first = first
        self.look: Any = None
        self.stage: Any = None
        self._system_scale = Metrics.fontscale
        session.restyle = self.restyle

    def t(self, key: str, **values: Any) -> str:
        """The words of a key, for ``.kv`` files."""
        return self.session.t(key, **values)

    def load_kv(self, filename: str | None = None) -> bool:
        """Every screen loads its own ``.kv``; there is none for the app."""
        return False

    def build(self) -> Any:
        """The stage with its first screen."""
        fonts.register()
        hide_from_screenshots()
        self._measure()
        import fieldapp.widgets.all  # noqa: F401  (the looks of all widgets)
        from fieldapp.screens.stage import Stage

        self.stage = Stage(self.session)
        Window.bind(on_resize=lambda *_: Clock.schedule_once(lambda _dt: self._resized(), 0))
        self.stage.go(self.first)
        return self.stage

    def restyle(self) -> None:
        """Measure the theme anew and build the screens anew."""
        self._measure()
        self.stage.rebuild()

    def on_pause(self) -> bool:
        """The app goes to the background: lock."""
        self.stage.lock()
        return True

    def on_stop(self) -> None:
        """The window is closed: let the screen finish what is open, and shut the store."""
        self.stage.put_away()
        self.session.close()

    def _measure(self) -> None:
        settings = self.session.settings
        Metrics.fontscale = self._system_scale * settings.text_scale
        self.look = Look(settings.palette, settings.hand)
        Window.clearcolor = self.look.paper

    def _resized(self) -> None:
        if (self.look.wide, self.look.high) != (
            Window.width / Metrics.density,
            Window.height / Metrics.density,
        ):
            self.restyle()
