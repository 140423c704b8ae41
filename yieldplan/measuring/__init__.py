"""The measuring room: the sheet to measure on, what was read, to be held against the wood, and why it does not do."""
