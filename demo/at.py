"""One ``quietbell`` command as if it were given at another moment: ``python -m demo.at MOMENT COMMAND ...``.

Only the device's clock is set; everything else is the real command. So that a demo of last October prints
October's dates, and so that a tablet may have a wrong clock.
"""

from __future__ import annotations

import sys
import time
from datetime import datetime, timedelta

from fieldapp.cli import main
from fieldapp.platform.clock import DeviceClock


def set_device_clock(moment: datetime) -> None:
    """Let the device's clock run on from ``moment`` (with offset) in this process."""
    started = time.monotonic()

    def now(self: DeviceClock) -> datetime:
        return moment + timedelta(seconds=time.monotonic() - started)

    DeviceClock.now = now  # type: ignore[method-assign]


if __name__ == "__main__":
    set_device_clock(datetime.fromisoformat(sys.argv[1]))
    sys.exit(main(sys.argv[2:]))
