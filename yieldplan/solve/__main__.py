"""``python -m yieldplan.solve`` compiles the kernels beforehand."""

from __future__ import annotations

import sys

from yieldplan.solve.warm import PRICING, compile_pricing, load_kernels

if __name__ == "__main__":
    if sys.argv[1:] == [PRICING]:
        compile_pricing()
    else:
        load_kernels()
