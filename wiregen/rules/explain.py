"""What `wiregen explain RULE` prints, and the rule reference: both from the docstring of the rule's module."""

from __future__ import annotations

from importlib import import_module

from wiregen.rules.register import JUDGING, NAMES, close_names, module_name
from wiregen.rules.words import listed

SECTIONS = ("Hazard", "Test", "Basis", "Bad", "Good", "Limits")
"""Every rule has these, in this order; Limits (what it does not see, what it assumes) only where there is something."""


def sections(rule: str) -> dict[str, str]:
    """The docstring of a rule's module by section; `` is its first line, without the name."""
    text = import_module(module_name(rule)).__doc__ or ""
    first, *rest = text.strip().splitlines()
    out = {"": first.partition(": ")[2]}
    name = ""
    for line in rest:
        if line in SECTIONS:
            name = line
            out[name] = ""
        elif name:
            out[name] += line.removeprefix("    ") + "\n"
    return {name: body.strip("\n") for name, body in out.items()}


def explain(rule: str) -> str | None:
    """Hazard, test, basis, a bad and a good netlist of one rule as text; None where there is no such rule."""
    if rule not in NAMES:
        return None
    said = sections(rule)
    severity = f"  ({import_module(module_name(rule)).check.severity})" if rule in JUDGING else ""
    lines = [f"{rule}: {said['']}{severity}"]
    for name in SECTIONS:
        if name in said:
            lines += ["", name] + [f"    {line}".rstrip() for line in said[name].splitlines()]
    return "\n".join(lines) + "\n"


def unknown(rule: str) -> str:
    """What to say about a name that is no rule."""
    close = close_names(rule)
    return f"there is no rule {rule}" + (f"; did you mean {listed(close, 'or')}?" if close else "")


def reference() -> str:
    """All rules as one page of Markdown, made from the same text as `explain`."""
    out = ["# The rules", "", "Made from the rule modules by `wiregen.rules.reference`; do not edit.", ""]
    for name in NAMES:
        said = sections(name)
        out += [f"## {name}", "", said[""] + ".", ""]
        for section in SECTIONS:
            if section in said:
                code = section in ("Bad", "Good")
                body = ["```", said[section], "```"] if code else [said[section]]
                out += [f"**{section}**", "", *body, ""]
    return "\n".join(out)
