"""How words that users type are compared."""


def fold(word: str) -> str:
    """Return a word in the form in which species and kinds are compared: case and spacing do not matter."""
    return " ".join(word.split()).casefold()
