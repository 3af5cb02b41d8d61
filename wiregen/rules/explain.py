"""What `wiregen explain RULE` prints, and the rule reference: both from the docstring of the rule's module."""

from __future__ import annotations

from importlib import import_module

from wiregen.findings import NOTICE, Severity
from wiregen.findings.report import Page
from wiregen.rules.register import JUDGING, NAMES, close_names, module_name
from wiregen.rules.words import listed

SECTIONS = ("Hazard", "Test", "Basis", "Bad", "Good", "Limits")
"""Every rule has these, in this order; Limits (what it does not see, what it assumes) only where there is something."""


_OF_THE_RECORD: dict[str, Severity] = {
    "missing-data": "advice",
    "rule-failure": "danger",
    "stale-acceptance": "warning",
    "kit-changed": "warning",
}


def sections(rule: str) -> dict[str, str]:
    """The docstring of a rule's module by section; `` is its first line, without the name."""
    text = import_module(module_name(rule)).__doc__ or _from_source(module_name(rule))
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


def _from_source(module: str) -> str:
    """The docstring of a module as it stands in its file: Python leaves them out where it is told to optimise twice."""
    import ast
    from importlib.abc import InspectLoader
    from importlib.util import find_spec

    found = find_spec(module)
    source = found.loader.get_source(module) if found and isinstance(found.loader, InspectLoader) else None
    return ast.get_docstring(ast.parse(source or ""), clean=False) or ""


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


def listing() -> str:
    """Every rule on a line of its own, in the order in which they run: name, severity, what it says."""
    wide = max(map(len, NAMES))
    return "".join(f"{name:{wide}}  {severity(name):7}  {sections(name)['']}\n" for name in NAMES)


def unknown(rule: str) -> str:
    """What to say about a name that is no rule."""
    close = close_names(rule)
    return f"there is no rule {rule}" + (f"; did you mean {listed(close, 'or')}?" if close else "")


def pages() -> tuple[Page, ...]:
    """Every rule's page, by name, as text and as Markdown."""
    return tuple(
        Page(name, severity(name), sections(name)[""], explain(name) or "", markdown(name)) for name in sorted(NAMES)
    )


def severity(rule: str) -> Severity:
    """How bad a finding of a rule is, where the finding does not say otherwise."""
    if rule in _OF_THE_RECORD:
        return _OF_THE_RECORD[rule]
    said: Severity = import_module(module_name(rule)).check.severity
    return said


def markdown(rule: str) -> str:
    """A rule's page as Markdown."""
    said = sections(rule)
    out = [f"# {rule}", "", said[""], ""]
    if rule in JUDGING:
        out += [f"Severity: {severity(rule)}, where a finding does not say otherwise.", ""]
    for name in SECTIONS:
        if name in said:
            fence = ["```text", said[name], "```"] if name in ("Bad", "Good") else [said[name]]
            out += [f"## {name}", "", *fence, ""]
    return "\n".join(out)


def reference() -> dict[str, str]:
    """The rule reference, file name -> text: a page for each rule and one that lists them, from the same text."""
    made = "Made by `python -m wiregen.build` from the rule modules. Do not edit."
    rows = [f"| [{page.name}]({page.name}.md) | {page.severity} | {page.short} |" for page in pages()]
    index = [
        "# The rules", "", made, "",
        "`wiregen explain RULE` prints the same pages. Their bad and good netlists run in the tests, in a job with two",
        "batteries, a charger, three fuses and loads that are declared around them.", "",
        NOTICE, "", "| rule | severity | what it says |", "|---|---|---|", *rows,
    ]  # fmt: skip
    files = {"README.md": "\n".join(index) + "\n"}
    return files | {f"{page.name}.md": f"{page.markdown}\n{made} [All rules](README.md)\n" for page in pages()}
