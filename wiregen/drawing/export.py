"""SVG sheets to one PDF and to PNG, by cairo: heavy, so imported only when asked for."""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

DATE = "2000-01-01T00:00:00Z"  # the same in every file: the drawing's own date stands in its title block


def to_pdf(svgs: Sequence[str], title: str = "") -> bytes:
    """One PDF with a page for each sheet, in the sheet's size; same input, same bytes."""
    import cairocffi  # type: ignore[import-untyped]
    from cairosvg.parser import Tree  # type: ignore[import-untyped]
    from cairosvg.surface import PDFSurface  # type: ignore[import-untyped]

    out = io.BytesIO()
    pages = cairocffi.PDFSurface(out, 1, 1)
    pages.set_metadata(cairocffi.PDF_METADATA_CREATE_DATE, DATE)
    pages.set_metadata(cairocffi.PDF_METADATA_MOD_DATE, DATE)
    if title:
        pages.set_metadata(cairocffi.PDF_METADATA_TITLE, title)

    class Page(PDFSurface):  # type: ignore[misc]
        """Draws on the next page of the one file."""

        def _create_surface(self, width: float, height: float) -> tuple[Any, float, float]:
            pages.set_size(width, height)
            return pages, width, height

    for svg in svgs:
        Page(Tree(bytestring=svg.encode()), None, 96)
        pages.show_page()
    pages.finish()
    return out.getvalue()


def to_png(svg: str, dpi: float = 150) -> bytes:
    """One sheet as pixels, `dpi` of them to the inch on paper."""
    import cairosvg  # type: ignore[import-untyped]

    png: bytes = cairosvg.svg2png(bytestring=svg.encode(), dpi=96, scale=dpi / 96)
    return png
