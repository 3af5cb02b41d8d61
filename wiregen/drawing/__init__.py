"""Symbols and sheets: Geometry -> SVG -> PDF and PNG, and the netlist back out of the SVG.

The marks in a sheet, from which anyone can rebuild the netlist (one user unit is 1 mm on paper, y downwards):

| element | what it says |
|---|---|
| `svg data-sheet data-sheets` | number of the sheet, and how many there are; `title` and `desc` tell it in words |
| `g.part data-part data-kind data-box` | a part: its id, its kind, its room `x y width height`; `title` names it |
| `circle.terminal data-terminal cx cy` | a terminal of the part around it; without a ring where a symbol needs none |
| `g.end data-box` | an end in the air with its terminal `loose:W5` or `capped:W5`: no part |
| `g.conductor data-conductor data-from data-to` | a conductor; its one `path.run` begins and ends at the terminals |
| `g.link data-from data-to` | two terminals metal to metal, with the same kind of `path.run` |
| `circle.junction cx cy` | runs of one net meet here; runs that cross without it do not |
| `circle.continuation data-conductor data-sheet data-zone` | a conductor's cut end: sheet and field where it goes on |
| `g.goes-on data-for data-box` | the flag around it: `2/B4` for sheet 2, field B4, and the terminal at its far end |
| `g.label data-for data-box` | lettering for a part, conductor or place; a part's place is a second label, `(Tray)` |
| `g.finding data-rule data-for data-box` | the numbered mark of a finding, or of a change (`added` ...) |
| `g.place data-place data-box` | the outline around the parts of a place; its name is a label for the place |
| `g.frame` `g.title-block` `g.legend` `g.findings` `g.cautions` | what stands around the diagram |

A drawing of several sheets is several SVG texts. A conductor between two of them stands on both with the same
`data-conductor`, `data-from` and `data-to`: on each, one end of its run is the terminal, and the other is its
`circle.continuation`, which names the sheet and the field of the frame (ISO 5457) with the other one. Links are never
cut. A part stands on one sheet, but for two kinds that are drawn again with the same `data-part`: an earth point on
each sheet where a lead to it ends, and a box or bar parted over sheets, each of its terminals on one of them. All
sheets together hold every part, terminal, conductor and link of the job; a mark and its line in the list of findings
are on the sheet where the subject stands.

A run is absolute `M` and `L` in the root's units, level or upright, without a transform on anything around it. The
dark edge and the second colour of a conductor are `polyline.edge` and `polyline.stripe` beside the run. Strokes of a
symbol are in `g.symbol`, moved to their place by a transform; nothing else has one but lettering that is turned.
"""

from wiregen.drawing.changes import with_changes
from wiregen.drawing.draw import draw, draw_job
from wiregen.drawing.export import to_pdf, to_png
from wiregen.drawing.netlist import Netlist, compare, rebuild
from wiregen.layout import Options

__all__ = ["Netlist", "Options", "compare", "draw", "draw_job", "rebuild", "to_pdf", "to_png", "with_changes"]
