"""``python -m yieldplan.solve`` compiles the kernels, once, so that the first plan need not."""

from yieldplan.solve.compile_kernels import load_all

load_all()
