"""Text in, a tree of shapes out, with a position on everything; mistakes in the trade's words; the formatter."""

from wiregen.language.files import read_source
from wiregen.language.format import format_text
from wiregen.language.reader import parse

__all__ = ["format_text", "parse", "read_source"]
