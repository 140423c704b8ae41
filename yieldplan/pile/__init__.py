"""The pile's room: what to buy, how much more it gives, which cards still hold, and how a batch leaves it."""
