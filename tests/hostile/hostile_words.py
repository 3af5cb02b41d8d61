"""Words that somebody could put into a netlist to make one of the outputs say or do something of their own."""

from __future__ import annotations

import re
from pathlib import Path

from wiregen.language.build_tree import quoted

ROOT = Path(__file__).resolve().parent.parent.parent
HOSTILE = (
    "</text></svg><script>alert(1)</script>",
    '" onload="alert(1)" x="',
    "' onmouseover='alert(1)",
    "<img src=x onerror=alert(1)>",
    "]]><!--&amp;&#0;&lt;<?xml?>",
    '=HYPERLINK("mailto:x","y")',
    "+1+1|' /C calc'!A0",
    "@SUM(1)",
    "-2+3",
    "::error file=x::taken over",
    "%0A::stop-commands::x",
    "\x1b]0;title\x1b\\\x1b[2J\x1b[31m",
    "\u202etfel ot thgir\u202c \u2066apart\u2069",
    "zero\u200bwidth\u200d\ufeff \u2028line\u2029 \x85next\x0cpage",
    "\u0635\u0628\u0627\u062d \u05d1\u05d5\u05e7\u05e8 \u96fb\u6c60 \U0001f50b\U0001f469\u200d\U0001f527",
    "a" + "\u0301" * 60,
    "W" * 400,
    '#import "x": * #panic("typst ran") $x$ @ref <label> \\ *bold* _it_',
    "[x](javascript:alert(1)) `code` **b** <b>",
    "# heading\\n| a | b |",
    "{{7*7}} ${7*7} %s %n {0} {} {x.__class__}",
    "CON ../../etc/passwd C:\\x \\\\host\\share",
    ".control\\nshell touch owned\\n.endc",
    "'; DROP TABLE parts; --",
)
_TITLE = re.compile(r'"[^"\n]*"')


def hostile_job(turn: int, path: Path | None = None) -> str:
    """A netlist in which every text between quotation marks is a hostile one: which one stands where, `turn` says."""
    lines = []
    at = turn
    for line in (path or ROOT / "examples" / "lessons" / "four-steps.wnet").read_text(encoding="utf-8").split("\n"):
        if not line.strip().startswith(("include", "#")):
            count = len(_TITLE.findall(line))
            words = iter([quoted(HOSTILE[(at + n) % len(HOSTILE)]) for n in range(count)])
            line = _TITLE.sub(lambda _, words=words: next(words), line)  # type: ignore[misc]
            at += count
        lines.append(line)
    return "\n".join(lines)


HIDDEN = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff\ufff9-\ufffb\ud800-\udfff]"
)
"""What shows nothing or steers how other text is shown: in no output, except where a letter spells it out."""
