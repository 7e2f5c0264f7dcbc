"""`python -m drainsim` is the same as the command `drainsim`."""

import sys

from drainsim.cli import main

sys.exit(main())
