"""Text in, a tree of shapes out, with a position on everything; mistakes in the trade's words; the formatter."""

from wiregen.language.reader import parse

__all__ = ["parse"]
