"""``python -m fieldapp`` is the ``quietbell`` command."""

import sys

from fieldapp.cli import main

sys.exit(main())
