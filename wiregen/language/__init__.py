"""Text in, a tree of shapes out, with a position on everything; mistakes in the trade's words; the formatter.

files.py reads a file; parser.py loads the grammar's tables; reader.py takes the tokens through the parser;
build_tree.py makes tree.py's records of them; quantities.py reads their numbers. Only for a text with mistakes,
lenient.py mends the tokens by the table in slips.py, and recover.py reads on. format.py writes the plain layout.
"""

from wiregen.language.files import read_source
from wiregen.language.format import format_text
from wiregen.language.reader import parse

__all__ = ["format_text", "parse", "read_source"]
