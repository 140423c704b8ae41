"""The solver: what each offcut can yield, pricing, master and bound, aims."""
