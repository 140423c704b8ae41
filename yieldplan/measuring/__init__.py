"""The measuring room: the sheet to measure on, and what was read, to be held against the wood."""
