"""SVG sheets to one PDF and to PNG, by cairo: heavy, so imported only when asked for.

cairosvg honours neither `textLength` nor a font within the SVG: the font that ships is made known to cairo, and where
that cannot be done texts that come out too wide are narrowed here, so that no label runs into its neighbour.
"""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from html import unescape
from typing import Any

from wiregen.drawing.font import made_known
from wiregen.drawing.svg import FONT, num

DATE = "2000-01-01T00:00:00Z"  # the same in every file: the drawing's own date stands in its title block
WIDER = 1.01  # a text may be that much wider than counted before it is narrowed
_TEXT = re.compile(
    r'<text x="([\d.-]+)" y="([\d.-]+)" font-size="([\d.]+)"([^>]*?) textLength="([\d.]+)"([^>]*)>([^<]*)<'
)


def to_pdf(svgs: Sequence[str], title: str = "") -> bytes:
    """One PDF with a page for each sheet, in the sheet's size; same input and fonts, same bytes."""
    import cairocffi  # type: ignore[import-untyped]
    from cairosvg.parser import Tree  # type: ignore[import-untyped]
    from cairosvg.surface import PDFSurface  # type: ignore[import-untyped]

    out = io.BytesIO()
    pages = cairocffi.PDFSurface(out, 1, 1)
    pages.set_metadata(cairocffi.PDF_METADATA_CREATE_DATE, DATE)
    pages.set_metadata(cairocffi.PDF_METADATA_MOD_DATE, DATE)
    if title:
        pages.set_metadata(cairocffi.PDF_METADATA_TITLE, title)

    class Page(_unhinted(PDFSurface)):  # type: ignore[misc]
        """Draws on the next page of the one file."""

        def _create_surface(self, width: float, height: float) -> tuple[Any, float, float]:
            pages.set_size(width, height)
            return pages, width, height

    for svg in svgs:
        Page(Tree(bytestring=narrowed(svg).encode()), None, 96)
        pages.show_page()
    pages.finish()
    return out.getvalue()


def to_png(svg: str, dpi: float = 150) -> bytes:
    """One sheet as pixels, `dpi` of them to the inch on paper."""
    from cairosvg.surface import PNGSurface

    png: bytes = _unhinted(PNGSurface).convert(bytestring=narrowed(svg).encode(), dpi=96, scale=dpi / 96)
    return png


def _unhinted(surface: Any) -> Any:
    """The kind of surface with letters in their true shape and place, whatever this machine prefers for its screen."""

    class Unhinted(surface):  # type: ignore[misc]
        def draw_root(self, node: Any) -> None:
            self.context.set_font_options(_true_shape())
            super().draw_root(node)

    return Unhinted


def _true_shape() -> Any:
    import cairocffi

    return cairocffi.FontOptions(
        antialias=cairocffi.ANTIALIAS_GRAY,
        hint_style=cairocffi.HINT_STYLE_NONE,
        hint_metrics=cairocffi.HINT_METRICS_OFF,
    )


def narrowed(svg: str, family: str = FONT.split(",")[0]) -> str:
    """The same sheet with every text narrowed that the fonts of this machine make wider than its `textLength`."""
    import cairocffi

    made_known()
    context = cairocffi.Context(cairocffi.RecordingSurface(cairocffi.CONTENT_COLOR, None))
    context.set_font_options(_true_shape())
    context.set_font_size(100)
    advances: dict[tuple[bool, str], float] = {}

    def narrow(found: re.Match[str]) -> str:
        x, y, size, before, length, after, words = found.groups()
        strong = 'font-weight="bold"' in before
        if (strong, words) not in advances:
            context.select_font_face(family, cairocffi.FONT_SLANT_NORMAL, int(strong))
            advances[strong, words] = context.text_extents(unescape(words))[4] / 100
        drawn = advances[strong, words] * float(size)
        if drawn <= float(length) * WIDER:
            return found.group()
        place = f"translate({x} {y}) scale({num(float(length) / drawn)} 1)"
        return f'<text x="0" y="0" font-size="{size}"{before}{after} transform="{place}">{words}<'

    return _TEXT.sub(narrow, svg)
