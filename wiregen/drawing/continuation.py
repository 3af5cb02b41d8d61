"""The mark of a conductor's cut end: a flag with the other sheet and its field, and the far terminal beside it.

The flag points the way the current goes over the whole job; where that is not known, from the conductor's first end.
"""

from __future__ import annotations

from wiregen.drawing import svg
from wiregen.layout import text
from wiregen.layout.continuation import FLAG, GAP, TIP
from wiregen.layout.geometry import Box, Continuation

CAP = text.CAP_HEIGHT
RADIUS = 0.7  # of the ring where the run ends [mm]
INK, WIDTH = "#000", 0.25


def flag(box: Box, tip: float, to_right: bool) -> str:
    """A five-cornered flag that fills the box."""
    middle = box.y + box.height / 2
    if to_right:
        corners = [(box.x, box.y), (box.right - tip, box.y), (box.right, middle), (box.right - tip, box.bottom),
                   (box.x, box.bottom)]  # fmt: skip
    else:
        corners = [(box.right, box.y), (box.x + tip, box.y), (box.x, middle), (box.x + tip, box.bottom),
                   (box.right, box.bottom)]  # fmt: skip
    return svg.element("polygon", points=svg.corners(corners), fill="#fff", stroke=INK, stroke_width=WIDTH)


def draw(cut: Continuation) -> str:
    """Flag, words and the ring where the run ends."""
    box = cut.box
    at_right = cut.mirrored  # the run comes from there
    body = Box(box.right - FLAG if at_right else box.x, box.y, FLAG, box.height)
    to_right = cut.outward != at_right
    y = box.y + (box.height + CAP) / 2
    middle = (body.x + body.right) / 2 + (-TIP / 3 if to_right else TIP / 3)
    content = [flag(body, TIP, to_right), svg.text((middle, y), f"{cut.sheet}/{cut.zone}", CAP, "middle")]
    if cut.far:
        end = body.x - GAP if at_right else body.right + GAP
        content.append(svg.text((end, y), cut.far, CAP, "end" if at_right else "start"))
    content.append(
        svg.element(
            "circle", _class="continuation", data_conductor=cut.conductor, data_sheet=str(cut.sheet),
            data_zone=cut.zone, cx=cut.at[0], cy=cut.at[1], r=RADIUS, fill="#fff", stroke=INK, stroke_width=WIDTH,
        )
    )  # fmt: skip
    return svg.group(
        content,
        title=f"{cut.conductor} goes on on sheet {cut.sheet}, field {cut.zone}, to {cut.far}",
        _class="goes-on",
        data_for=cut.conductor,
        data_box=" ".join(svg.num(n) for n in (box.x, box.y, box.width, box.height)),
    )
