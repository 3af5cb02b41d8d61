"""The folder as one page for a browser: everything in it, nothing fetched, ready to print."""

from __future__ import annotations

from collections.abc import Iterator

from wiregen.drawing.svg import escape
from wiregen.papers.document import (
    Block,
    Cell,
    Facts,
    Folder,
    Heading,
    Labels,
    Paper,
    Picture,
    Points,
    Table,
    Text,
)

STYLE = """
:root { color-scheme: light; --ink: #111; --pale: #666; --line: #bbb; }
* { box-sizing: border-box; }
body { font: 15px/1.45 "Wiregen Sans", "Liberation Sans", Arial, Helvetica, sans-serif; }
body { color: var(--ink); background: #eee; margin: 0; }
main, header, nav, footer { max-width: 1150px; margin: 0 auto; background: #fff; padding: 1.2rem 2rem; }
section { border-top: 1px solid var(--line); padding: 1.2rem 0; }
h1 { font-size: 1.9rem; margin: 0; }
h2 { font-size: 1.45rem; margin: 0 0 .8rem; }
h3 { font-size: 1.05rem; margin: 1.4rem 0 .5rem; }
p { max-width: 48rem; }
.lead { font-size: 1.08rem; }
.small, .note { font-size: .85rem; color: #555; }
.caution { border: 1px solid var(--pale); border-left: .35rem solid #000; padding: .6rem .9rem; font-weight: bold; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: .88rem; }
th, td { text-align: left; padding: .28rem .45rem; border-bottom: 1px solid var(--line); vertical-align: top; }
td { overflow-wrap: anywhere; }
th { border-bottom: 2px solid #000; }
th small { color: #555; font-weight: normal; }
.right { text-align: right; }
.centre { text-align: center; }
td.box::after { content: ""; display: block; min-width: 2.6rem; height: 1.3rem; border: 1px solid var(--pale); }
dl { display: grid; grid-template-columns: 11rem 1fr; gap: .3rem 1rem; }
dt { color: #555; }
dd { margin: 0; }
figure { margin: 1rem 0; }
figure img { width: 100%; height: auto; border: 1px solid var(--line); }
.labels { display: grid; grid-template-columns: repeat(3, 1fr); gap: .4rem; list-style: none; padding: 0; }
.labels li { border: 1px dashed var(--pale); padding: .4rem .6rem; font-size: .85rem; min-height: 4.6rem; }
nav ol { margin: 0; padding-left: 1.3rem; }
@page { size: A4; margin: 14mm; }
@page wide { size: A4 landscape; margin: 12mm; }
@media print {
  body { background: #fff; font-size: 9.5pt; line-height: 1.35; }
  main, header, footer { max-width: none; padding: 0; }
  nav { display: none; }
  section { border: 0; padding: 0; }
  section + section { break-before: page; }
  section.landscape { page: wide; }
  section.landscape table { font-size: 7pt; }
  table { font-size: 8pt; }
  th, td { padding: .18rem .3rem; }
  thead { display: table-header-group; }
  tr, figure, li, .caution { break-inside: avoid; }
  h2, h3 { break-after: avoid; }
  figure img { max-height: 150mm; width: auto; max-width: 100%; }
  .wide { overflow: visible; }
}
"""


def page(folder: Folder, contents: str) -> str:
    """The folder as HTML text. Drawings are inside it as pictures with their descriptions; all text is escaped."""
    style = STYLE.replace("size: A4", "size: letter") if folder.paper == "letter" else STYLE
    head = (
        f'<!DOCTYPE html>\n<html lang="{escape(folder.language)}">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(folder.title)}</title>\n<style>{style}</style>\n</head>\n<body>\n"
        f"<header><h1>{escape(folder.title)}</h1>"
        + (f"<p>{escape(folder.subtitle)}</p>" if folder.subtitle else "")
        + "</header>\n"
    )
    links = "".join(f'<li><a href="#{paper.id}">{escape(paper.title)}</a></li>' for paper in folder.papers)
    body = "\n".join(_paper(paper) for paper in folder.papers)
    foot = f'<footer><p class="small">{escape(folder.running)}</p></footer>\n' if folder.running else ""
    nav = f"<nav><h2>{escape(contents)}</h2><ol>{links}</ol></nav>\n"
    return f"{head}{nav}<main>\n{body}\n</main>\n{foot}</body>\n</html>\n"


def _paper(paper: Paper) -> str:
    inside = "\n".join(_block(block) for block in paper.blocks)
    turned = paper.landscape or any(isinstance(block, Picture) and block.whole_page for block in paper.blocks)
    kind = ' class="landscape"' if turned else ""
    return f'<section id="{paper.id}"{kind}>\n<h2>{escape(paper.title)}</h2>\n{inside}\n</section>'


def _block(block: Block) -> str:
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Text):
        return f'<p class="{block.style}">{escape(block.text)}</p>'
    if isinstance(block, Heading):
        return f"<h3>{escape(block.text)}</h3>"
    if isinstance(block, Points):
        word = "ol" if block.numbered else "ul"
        return f"<{word}>{''.join(f'<li>{escape(item)}</li>' for item in block.items)}</{word}>" if block.items else ""
    if isinstance(block, Facts):
        pairs = "".join(f"<dt>{escape(name)}</dt><dd>{escape(said)}</dd>" for name, said in block.pairs)
        return f"<dl>{pairs}</dl>"
    if isinstance(block, Labels):
        return f'<ul class="labels">{"".join(f"<li>{_label(lines)}</li>" for lines in block.labels)}</ul>'
    return _picture(block)


def _label(lines: tuple[str, ...]) -> str:
    first, *rest = lines
    return "<br>".join([f"<strong>{escape(first)}</strong>", *(escape(line) for line in rest if line)])


def _picture(picture: Picture) -> str:
    from base64 import b64encode

    data = b64encode(picture.svg.encode()).decode("ascii")
    return f'<figure><img src="data:image/svg+xml;base64,{data}" alt="{escape(picture.description)}"></figure>'


def _table(table: Table) -> str:
    heads = "".join(
        f'<th scope="col" class="{column.align}">{escape(column.title)}'
        + (f" <small>{escape(column.unit)}</small>" if column.unit else "")
        + "</th>"
        for column in table.columns
    )
    rows = "\n".join(f"<tr>{''.join(_cells(row, table))}</tr>" for row in table.rows)
    heading = f"<h3>{escape(table.heading)}</h3>\n" if table.heading else ""
    note = f'\n<p class="note">{escape(table.note)}</p>' if table.note else ""
    inside = f"<thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody>"
    return f'{heading}<div class="wide"><table>\n{inside}\n</table></div>{note}'


def _cells(row: tuple[Cell, ...], table: Table) -> Iterator[str]:
    for cell, column in zip(row, table.columns, strict=True):
        kind = " ".join(
            word for word in (column.align if column.align != "left" else "", "box" if cell.box else "") if word
        )
        words = f"<strong>{escape(cell.text)}</strong>" if cell.strong and cell.text else escape(cell.text)
        yield f'<td class="{kind}">{words}</td>' if kind else f"<td>{words}</td>"
