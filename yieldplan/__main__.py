"""The program's beginning and end: Ctrl-C shows no traceback there either. Imports next to nothing before that."""

from __future__ import annotations

import signal
import sys


def main() -> int:
    """Run the command line and return its exit status, 130 if it is stopped while it is being loaded."""
    try:
        from yieldplan.stopping import end_at_once  # noqa: PLC0415 - from here on Ctrl-C is never lost

        end_at_once()
        from yieldplan.cli import main as run  # noqa: PLC0415 - slow to load

        status = run()
        signal.signal(signal.SIGINT, signal.SIG_IGN)  # all is done: nothing is left to stop
    except KeyboardInterrupt:
        sys.stderr.write("Stopped.\n")
        return 130
    return status


if __name__ == "__main__":
    sys.exit(main())
