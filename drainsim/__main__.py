"""`python -m drainsim` is the same as the command `drainsim`."""

import sys

try:
    from drainsim.cli import main
except KeyboardInterrupt:  # Ctrl-C while it is still being loaded
    sys.exit("drainsim: stopped")

if __name__ == "__main__":
    sys.exit(main())
