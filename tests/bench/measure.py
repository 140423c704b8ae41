"""Run a command silently and print its exit status, its seconds and its peak memory in MiB.

A process of its own, that imports next to nothing: the system counts into a process's peak what its parent held
when it was started.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import time

if __name__ == "__main__":
    start = time.perf_counter()
    done = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    seconds = time.perf_counter() - start
    unit = 1 if sys.platform == "darwin" else 1024
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * unit / 1024**2
    print(done.returncode, seconds, peak)
