"""``python -m yieldplan.solve`` compiles the kernels, once, so that the first plan need not."""

from yieldplan.stopping import end_at_once

if __name__ == "__main__":
    end_at_once()
    from yieldplan.solve.compile_kernels import load_all

    load_all()
