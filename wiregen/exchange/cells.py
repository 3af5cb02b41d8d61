"""What one cell says, in the words of the language; a cell that does not fit its column is told."""

from __future__ import annotations

import re

from wiregen.exchange.columns import COLUMNS, FACT, Row
from wiregen.exchange.import_page import Page
from wiregen.findings import Source
from wiregen.language import parse
from wiregen.language.build_tree import quoted
from wiregen.language.tree import Value
from wiregen.model.spelling import did_you_mean, listed
from wiregen.model.values import any_fits
from wiregen.model.vocabulary import Table, means

NAME = re.compile(r"[^\W\d_]\w*(?:-\w+)*(?:\.\w+(?:-\w+)*)?$")
END = re.compile(r"\w+(?:-\w+)*(?:\.(?:\w+(?:-\w+)*|[+-](?!\w)))*$")
AIR = re.compile(r"(loose|capped)\b[\s:]*(.*)$", re.IGNORECASE | re.DOTALL)


def is_name(word: str) -> bool:
    """Whether a row can be declared by this name."""
    return bool(NAME.match(word)) and "." not in word


def put_facts(page: Page, row: Row, table: Table, taken: tuple[str, ...], first: bool = False) -> set[str]:
    """Write the cells of a row as facts; the columns whose cells cannot be said."""
    unfit: set[str] = set()
    for column in COLUMNS:
        text = row.cells.get(column, "")
        if column in taken or not text:
            continue
        said = _fact(page, row, column, text, table)
        if said is None:
            unfit.add(column)
        elif said:
            page.put(f"{' ' if first else ', '}{said}", row, column)
            first = False
    return unfit


def _fact(page: Page, row: Row, column: str, text: str, table: Table) -> str | None:
    """One cell in the language's words; None, and a finding, where it does not fit its column."""
    name = FACT.get(column, column.lower())
    if name == "rating" and "rating" not in table.facts:
        name = "draws"
    if column == "Facts":
        return one_line(text) if sound_facts(page, row, table) else None
    if column == "Type":
        words = text.replace(",", " ").split()
        for word in words:
            if word.lower() not in table.words:
                near = "" if page.full else did_you_mean(word, table.words)
                remedy = near or f"write {listed(list(table.words) or ['nothing'])}"
                page.say(row, column, f"{word} is no word for {table.means}", remedy)
                return None
        return " ".join(words)
    if name not in table.facts:
        page.say(row, column, f"{table.means} does not say this", "leave the cell empty")
        return None
    items = table.facts[name]
    if "text" in items[0].options:
        shown = quoted(" ".join(text.split()))
        return shown if column == "Title" else f"{name} {shown}"
    line = one_line(text)
    values = values_alone(f"x {line.replace(',', ' ') if column == 'Via' else line}")
    if column == "Via":
        if values and all(v.kind == "name" or any_fits(v, ("length",)) for v in values):
            return f"via {' '.join(v.text for v in values)}"
        page.say(
            row, column, f"{text} are no places", "name places, with a length each or none: engine-bay 1 m, boot 2 m"
        )
        return None
    if column == "Insulation" and values:
        kinds = [v for v in values if v.text.lower() in ("thermoplastic", "cross-linked", "silicone")]
        rest = [v for v in values if v not in kinds]
        if len(kinds) < 2 and len(rest) < 2 and all(any_fits(v, ("temperature",)) for v in rest):
            return " ".join([*(f"insulation {v.text}" for v in rest), *(v.text for v in kinds)])
    elif values and len(values) == 1 and any_fits(values[0], items[0].options):
        alone = [fact for fact, options in table.bare if any_fits(values[0], options)] == [name]
        return values[0].text if alone else f"{name} {values[0].text}"
    wanted = means(items[0].options)
    if re.fullmatch(r"[-+]?\d+(\.\d+)?", text):
        page.say(row, column, f"{text} has no unit", f"write {wanted}, or put the unit in the heading")
    elif re.match(r"\d+,\d+", text):
        page.say(row, column, f"{text} has a comma in its number", f"write a decimal point: {text.replace(',', '.')}")
    else:
        page.say(row, column, f"{text} is not {wanted}", f"write {wanted}")
    return None


def sound_facts(page: Page, row: Row, table: Table) -> bool:
    """Whether a cell of facts is nothing but facts; says so where it is not."""
    text = one_line(row.cells["Facts"])
    tree, found = parse(Source("", f"x {text}\n"))
    lines = tree.lines
    if not found and len(lines) == 1 and lines[0].path is None and not any(p.block for p in lines[0].phrases):
        return True
    message = found[0].message if found else "the cell holds more than facts"
    page.say(row, "Facts", message, (found[0].remedy if found else "") or f"write facts of {table.means}, with commas")
    return False


def values_alone(text: str) -> tuple[Value, ...]:
    """The values of one phrase behind its first word; none where the text is anything else."""
    tree, found = parse(Source("", text + "\n"))
    if found or len(tree.lines) != 1 or tree.lines[0].path or len(tree.lines[0].phrases) != 1:
        return ()
    phrase = tree.lines[0].phrases[0]
    return () if phrase.block or phrase.label else phrase.values[1:]


def one_line(text: str) -> str:
    return ", ".join(part.strip().strip(",").strip() for part in text.split("\n") if part.strip().strip(","))


def comment_of(text: str) -> str:
    """The end of a line of the netlist, with a text in it that nothing reads."""
    words = " ".join(text.split())
    return f"  # {words}\n" if words else "\n"


def _in_air(word: str, why: str) -> str:
    """`loose`, or `capped` with its reason."""
    return f"{word} {quoted(' '.join(why.split()))}" if why and word == "capped" else word


def end_of(page: Page, row: Row, column: str) -> str:
    """A terminal, or an end in the air; `` where the cell is neither."""
    text = row.cells.get(column, "")
    air = AIR.match(text)
    if air and not text[len(air[1]) : len(air[1]) + 1].strip(': \n"'):
        return _in_air(air[1].lower(), air[2].strip().strip('"'))
    if END.match(text):
        return text
    words = f"{text} is no terminal" if text else "the cell is empty"
    page.say(row, column, words, "name a part or one of its terminals, such as start.+ or F1")
    return ""
