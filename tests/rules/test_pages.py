"""Every rule is a module with a page of its own, whose bad netlist is found and whose good one is not."""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

import pytest
from rule_cases import found, standard

import wiregen.rules
from wiregen.model import read
from wiregen.rules import explain, listing, reference
from wiregen.rules.explain import SECTIONS, sections, severity
from wiregen.rules.register import JUDGING, NAMES, RECORD, close_names, module_name

HELPERS = {
    "__init__", "acceptance", "crossed", "currents", "drops", "engine", "explain", "fixes", "limits", "ratings",
    "register", "returns", "standing", "together", "unnamed", "verdict", "words",
}  # fmt: skip
ROOT = Path(wiregen.rules.__file__).parent


def test_every_module_is_a_registered_rule_or_a_known_helper() -> None:
    modules = {path.stem for path in ROOT.glob("*.py")} - HELPERS
    assert modules == {name.replace("-", "_") for name in NAMES}


@pytest.mark.parametrize("rule", NAMES)
def test_a_page_has_all_its_sections_in_order(rule: str) -> None:
    doc = import_module(module_name(rule)).__doc__ or ""
    assert doc.startswith(f"{rule}: ")
    said = list(sections(rule))
    assert said[0] == ""
    assert [s for s in SECTIONS if s in said] == said[1:]
    assert set(SECTIONS) - set(said) <= {"Limits"}
    assert all(sections(rule).values())


@pytest.mark.parametrize("rule", JUDGING)
def test_a_rule_is_registered_under_its_own_name(rule: str) -> None:
    check = import_module(module_name(rule)).check
    assert check.name == rule
    assert check.basis


EXAMPLES = str(ROOT.parents[1] / "examples")
SAID = [name for name in NAMES if name not in ("rule-failure", "kit-changed")]
"""Rules whose pages run as they stand: a rule's own crash cannot be written down, and a kit lies in another file."""


@pytest.mark.parametrize(("section", "said"), [("Bad", ["kit-changed"]), ("Good", [])])
def test_a_kit_of_another_revision_is_found(section: str, said: list[str]) -> None:
    text = standard(sections("kit-changed")[section] + "\n")
    job, findings = read("case.wnet", text=text, include=(EXAMPLES,))
    assert job is not None and job.complete
    assert [finding.rule for finding in findings] == said


@pytest.mark.parametrize("rule", SAID)
def test_the_bad_netlist_of_the_page_is_found(rule: str) -> None:
    findings = [f for f in found(standard(sections(rule)["Bad"] + "\n")) if f.rule == rule]
    assert findings
    for finding in findings:
        assert finding.subject and finding.at and finding.reason and finding.remedy and finding.basis


@pytest.mark.parametrize("rule", SAID)
def test_the_good_netlist_of_the_page_is_not(rule: str) -> None:
    assert [f.message for f in found(standard(sections(rule)["Good"] + "\n")) if f.rule == rule] == []


@pytest.mark.parametrize("rule", NAMES)
def test_explain_prints_the_page(rule: str) -> None:
    page = explain(rule)
    assert page is not None and page.startswith(rule)
    assert all(f"\n{section}\n" in page for section in sections(rule) if section)


def test_explain_knows_no_other_rule_and_close_names_are_offered() -> None:
    assert explain("unfused") is None
    assert close_names("Unfused_Positve") == ("unfused-positive",)
    assert close_names("zzzz") == ()


def test_the_listing_has_a_line_for_each_rule() -> None:
    lines = listing().splitlines()
    assert [line.split()[0] for line in lines] == list(NAMES)
    assert [line.split()[1] for line in lines] == [severity(name) for name in NAMES]
    assert all(line.endswith(sections(name)[""]) for line, name in zip(lines, NAMES, strict=True))


def test_the_reference_holds_every_rule() -> None:
    files = reference()
    assert set(files) == {"README.md", *(f"{name}.md" for name in JUDGING + RECORD)}
    assert all(f"[{name}]({name}.md)" in files["README.md"] for name in JUDGING + RECORD)
    assert all(files[f"{name}.md"].startswith(f"# {name}\n") for name in JUDGING + RECORD)
