"""schemdraw's segments and its figure, without matplotlib, which schemdraw would load where it is and never needs here.

The rest of the room takes schemdraw from here. Plots load matplotlib themselves, when one is drawn.
"""

from __future__ import annotations

import sys

_KEPT = sys.modules.get("matplotlib")
if _KEPT is None:
    sys.modules["matplotlib"] = None  # type: ignore[assignment]  # not to be found
try:
    from schemdraw.backends.svg import Figure
    from schemdraw.segments import Segment, SegmentArc, SegmentCircle, SegmentPoly, SegmentType
    from schemdraw.transform import Transform
    from schemdraw.types import BBox, Linestyle
finally:
    if _KEPT is None:
        del sys.modules["matplotlib"]

__all__ = [
    "BBox", "Figure", "Linestyle", "Segment", "SegmentArc", "SegmentCircle", "SegmentPoly", "SegmentType", "Transform",
]  # fmt: skip
