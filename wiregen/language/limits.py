"""How much one text may hold."""

LARGEST = 2_000_000  # bytes
DEEPEST = 40  # levels of braces
MOST_MISTAKES = 200  # told of one text; reading stops there
