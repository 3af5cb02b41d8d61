"""How much one text may hold."""

LARGEST = 1_000_000  # bytes, some twenty thousand lines
LONGEST_LINE = 10_000  # code points of one line; people write under two hundred
DEEPEST = 40  # levels of braces
MOST_MISTAKES = 200  # told of one text; reading stops there
