"""The set as one page for a browser: a figure at a time, forward and back by the arrow keys; nothing is fetched."""

from __future__ import annotations

import re
from base64 import b64encode

from wiregen.drawing.svg import escape, printable
from wiregen.teaching.draft import Figure

STYLE = """
* { box-sizing: border-box; }
body { margin: 0; font: 16px/1.4 Arial, Helvetica, sans-serif; color: #111; background: #fff; }
header { padding: .4rem 1rem; display: flex; gap: 1rem; align-items: center; border-bottom: 1px solid #999; }
header h1 { font-size: 1.1rem; margin: 0; flex: 1; }
button { font: inherit; padding: .3rem .9rem; }
figure { margin: 0; padding: .5rem 1rem; text-align: center; }
figure img { width: 100%; max-height: calc(100vh - 7.5rem); object-fit: contain; }
figcaption { text-align: left; max-width: 75rem; margin: 0 auto; }
.js figure { display: none; }
.js figure.shown { display: block; }
nav { padding: .5rem 1rem; }
@media print {
  header, nav { display: none; }
  .js figure, figure { display: block; break-after: page; }
  figure img { max-height: none; }
}
"""

_MARKS = re.compile(r"([\\*_\[\]<>#&])")

SCRIPT = """
(function () {
  var figures = Array.prototype.slice.call(document.querySelectorAll("figure")), at = 0;
  document.body.className = "js";
  function show(next) {
    at = Math.max(0, Math.min(figures.length - 1, next));
    figures.forEach(function (figure, k) {
      figure.classList.toggle("shown", k === at);
      figure.setAttribute("aria-hidden", k === at ? "false" : "true");
    });
    window.scrollTo(0, 0);
    document.getElementById("at").textContent = (at + 1) + " of " + figures.length;
    if (location.hash !== "#" + figures[at].id) { history.replaceState(null, "", "#" + figures[at].id); }
  }
  function named() {
    var k = figures.findIndex(function (figure) { return "#" + figure.id === location.hash; });
    show(k < 0 ? 0 : k);
  }
  document.addEventListener("keydown", function (event) {
    if (event.altKey || event.ctrlKey || event.metaKey) { return; }
    var steps = { ArrowRight: at + 1, PageDown: at + 1, " ": at + 1, ArrowLeft: at - 1, PageUp: at - 1,
                  Home: 0, End: figures.length - 1 };
    if (event.key === " " && event.target.tagName === "BUTTON") { return; }
    if (event.key in steps) { event.preventDefault(); show(steps[event.key]); }
  });
  document.getElementById("back").addEventListener("click", function () { show(at - 1); });
  document.getElementById("on").addEventListener("click", function () { show(at + 1); });
  window.addEventListener("hashchange", named);
  named();
})();
"""


def stepper(title: str, figures: tuple[Figure, ...]) -> str:
    """The page as HTML text. Every picture is inside it and carries its description; without scripts all are shown."""
    shown = "\n".join(
        f'<figure id="{escape(figure.name)}"><img src="data:image/svg+xml;base64,'
        f'{b64encode(figure.svg.encode()).decode("ascii")}" alt="{escape(figure.description)}">'
        f"<figcaption><strong>{escape(figure.title)}.</strong> {escape(figure.caption)}</figcaption></figure>"
        for figure in figures
    )
    links = "".join(f'<li><a href="#{escape(f.name)}">{escape(f.title)}</a></li>' for f in figures)
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        f'<header><h1>{escape(title)}</h1><button id="back" type="button">back</button>'
        '<span id="at" aria-live="polite"></span><button id="on" type="button">on</button></header>\n'
        f"<main>\n{shown}\n</main>\n<nav><ol>{links}</ol></nav>\n<script>{SCRIPT}</script>\n</body>\n</html>\n"
    )


def index(title: str, figures: tuple[Figure, ...]) -> str:
    """The list of the figures as text: file name, title, caption, description."""
    rows = [f"# {_plain(title)}", "", "For teaching. No statement that an installation is safe.", ""]
    for figure in figures:
        rows += [
            f"## {figure.name}",
            "",
            f"**{_plain(figure.title)}.** {_plain(figure.caption)}",
            "",
            f"Alt text: {_plain(figure.description)}",
            "",
        ]
    return "\n".join(rows)


def _plain(text: str) -> str:
    """Words that Markdown shows as they are: nothing in them is a mark, a link or an element of a page."""
    return _MARKS.sub(r"\\\1", printable(text))
