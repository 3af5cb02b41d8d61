"""The workbook to start from: one worked job, drop-downs where a cell takes one of a few words, columns explained."""

from __future__ import annotations

from wiregen.exchange.columns import HELP, STATEMENT_KINDS
from wiregen.exchange.to_table import PARTS, WIRES, tables, workbook
from wiregen.model import read
from wiregen.model.vocabulary import KINDS, VOCABULARY
from wiregen.papers.book import book_bytes

ROWS = 500  # to which the drop-downs reach
JOB = """job "Bee trailer: lamp and fan from one battery" { system 12 V, limits iso13297, each insulation 105 degC }
place locker "Battery locker", ambient -5..40 degC
battery BT1 80 Ah agm, at locker, resistance 5 mohm, short-circuit 2.5 kA, max-charge 25 A, vented
fuse F1 30 A strip, at locker, volts 58 V, breaks 3 kA
isolator Q1 50 A, at locker, volts 48 V
fuse-block FB1 "Locker block" 60 A, at locker, blade, volts 32 V, breaks 2 kA, ways 4 {
    1: 10 A
    2: 5 A
}
load fan 4 A "Smoker fan", at locker, duty 30 %
lamp light 10 W led "Work light", at locker
BT1.+ --[W1 red 6 mm2 150 mm]-- F1 --[W2 red 6 mm2 0.3 m]-- Q1 --[W3 red 6 mm2 0.4 m]-- FB1.in
FB1.1 --[W4 red 2.5 mm2 1.5 m]-- fan --[W5 black 2.5 mm2 1.5 m]-- FB1.-
FB1.2 --[W6 red 1.5 mm2 2 m]-- light --[W7 black 1.5 mm2 2 m]-- FB1.-
FB1.- --[W8 black 6 mm2 0.7 m]-- BT1.-
"""
EXPLAINED = (
    ("Kind", "what a row declares: a kind of part, place, cable, bundle; on Wires empty, link (no cable) or mate"),
    ("Name", "one word that begins with a letter: F1, fan, W3; each name once; a wire may go without"),
    ("Title", "a few words for the drawing"),
    ("Place", "the name of a row of Kind place"),
    ("On", "what the part is bolted to: a part, a terminal; of an earth its body"),
    ("Block, Way", "of a fuse in a fuse block: the block's name and the number of the way; its Name may be empty"),
    ("Type", "words for its sort: agm, strip, blade, led, variable, switched"),
    ("Rating", "with its unit: 40 A, of a panel 120 W, of a load what it draws"),
    ("Volts, Capacity, Resistance, Breaks", "with their units: 58 V, 80 Ah, 5 mohm, 3 kA"),
    ("From, To", "a terminal: BT1.+, F1.in, X1.a.+, FB1.2, NB1.3; a fuse, switch or load alone; loose; capped and why"),
    ("Colour", "red, or two of them: green/yellow"),
    ("Size", "6 mm2, 10 AWG or 6 auto-mm"),
    ("Length", "of the one core: 1.5 m, 150 mm; the unit may stand in the heading: Length [m]"),
    ("Material, Insulation, In", "copper; 105 degC thermoplastic; conduit, sheath or sleeve"),
    ("Via", "the places it runs through: locker, deck or locker 1 m, deck 2 m"),
    ("Bundle, Note", "the name of a row of Kind bundle; any text"),
    ("Facts", "all else in the netlist's words, with commas: duty 30 %, max-charge 25 A"),
)


def template() -> bytes:
    """The workbook as bytes; the same on every run."""
    from openpyxl.worksheet.datavalidation import DataValidation

    job, _ = read("template", text=JOB)
    assert job is not None
    book = workbook(tables(job))
    lists = book.create_sheet("Lists")
    lists.sheet_state = "hidden"
    choices = {"Kind": [*KINDS, *STATEMENT_KINDS], "Colour": list(VOCABULARY["colours"])}
    for x, words in enumerate(choices.values(), start=1):
        for y, word in enumerate(words, start=1):
            lists.cell(y, x, word)
    kinds, colours = (len(words) for words in choices.values())
    for sheet, columns, column, formula in (
        ("Parts", PARTS, "Kind", f"Lists!$A$1:$A${kinds}"),
        ("Parts", PARTS, "Block", f"Parts!$B$2:$B${ROWS}"),
        ("Wires", WIRES, "Kind", '"wire,link,mate"'),
        ("Wires", WIRES, "Colour", f"Lists!$B$1:$B${colours}"),
        ("Wires", WIRES, "From", f"Parts!$B$2:$B${ROWS}"),
        ("Wires", WIRES, "To", f"Parts!$B$2:$B${ROWS}"),
    ):
        choice = DataValidation(type="list", formula1=formula, allow_blank=True, showErrorMessage=False)
        letter = chr(65 + columns.index(column))
        choice.add(f"{letter}2:{letter}{ROWS}")
        book[sheet].add_data_validation(choice)
    told = book.create_sheet("Columns")
    for y, texts in enumerate((HELP, *EXPLAINED), start=1):
        for x, text in enumerate(texts, start=1):
            told.cell(y, x, text)
    told.column_dimensions["A"].width, told.column_dimensions["B"].width = 36, 100
    return book_bytes(book)
