"""How pages, tables and sentences are set, for every room that prints: paper, drawings, wording, tables."""
