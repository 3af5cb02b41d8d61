"""Front door of the room: geometry to SVG text, and the whole way from a study to sheets that match their netlist."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from wiregen.circuit.study import Study
from wiregen.drawing.dark import dark
from wiregen.drawing.netlist import compare, failure, rebuild
from wiregen.drawing.sheet import draw_sheet
from wiregen.drawing.strokes import Strokes
from wiregen.findings import Finding
from wiregen.layout import Options, lay_out
from wiregen.layout.geometry import Geometry

Page = Literal["white", "dark"]


def draw(geometry: Geometry, page: Page = "white") -> tuple[str, ...]:
    """One SVG text for each sheet, by the contract of the SVG marks (see `wiregen.drawing`). One user unit is 1 mm."""
    strokes = Strokes()
    svgs = (draw_sheet(geometry, sheet, strokes) for sheet in geometry.sheets)
    return tuple(dark(svg) if page == "dark" else svg for svg in svgs)


def draw_job(
    study: Study, findings: Sequence[Finding], options: Options, page: Page = "white"
) -> tuple[tuple[str, ...] | None, tuple[Finding, ...]]:
    """The sheets of a job, checked against its netlist, and what the layout has to say.

    None instead of sheets, and findings of the rule `drawing-failure`, where the drawing does not match or breaks
    the layout's own rules: then nothing may be written. A crash on the way is such a finding too.
    """
    try:
        geometry, told = lay_out(study, findings, options)
        svgs = draw(geometry, page)
        wrong = compare(study.job, rebuild(svgs))
    except Exception as error:
        words = f"the drawing could not be made: {type(error).__name__}: {error}"
        return None, (failure(study.job, words),)
    if wrong or any(finding.rule == "drawing-failure" for finding in told):
        return None, (*told, *wrong)
    return svgs, told
