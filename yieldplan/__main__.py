"""The program's beginning and end, where Ctrl-C must not show a traceback either.

Imports next to nothing before it can answer.
"""

from __future__ import annotations

import signal
import sys


def main() -> int:
    """Run the command line and return its exit status, 130 if it is stopped while it is being loaded."""
    try:
        from yieldplan.cli import main as run  # noqa: PLC0415 - Ctrl-C is caught while it loads

        status = run()
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is done: nothing is left to stop
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        return 130
    return status


if __name__ == "__main__":
    sys.exit(main())
