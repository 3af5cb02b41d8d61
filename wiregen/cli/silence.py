"""What each rule looked at and why it was content (`check --explain-silence`), as plain data and as text."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, TypedDict

from wiregen.findings.cells import visible, wrap
from wiregen.rules.register import JUDGING

if TYPE_CHECKING:
    from wiregen.rules.engine import Judgement


class Quiet(TypedDict):
    """One rule on one file: the subjects it speaks of, those it was content with and why, those it could not judge."""

    file: str
    rule: str
    found: list[str]
    content: list[dict[str, str]]
    unjudged: list[dict[str, str]]


def silence(path: str, judgement: Judgement) -> list[Quiet]:
    """Every rule, in the order in which they run."""
    rows: dict[str, Quiet] = {rule: Quiet(file=path, rule=rule, found=[], content=[], unjudged=[]) for rule in JUDGING}
    for finding in judgement.findings:
        if finding.rule in rows and finding.subject:
            rows[finding.rule]["found"].append(finding.subject)
    for rule, content in judgement.content:
        rows[rule]["content"].append({"subject": content.subject, "why": content.why})
    for rule, unjudged in judgement.unjudged:
        rows[rule]["unjudged"].append({"subject": unjudged.subject, "missing": unjudged.missing})
    return list(rows.values())


def silence_text(quiet: Sequence[Quiet], width: int) -> str:
    """The same for people, one line for each subject."""
    lines: list[str] = []
    file = None
    for row in quiet:
        if row["file"] != file:
            file = row["file"]
            lines += [f"What the rules looked at in {visible(file)}"]
        lines += [f"  {row['rule']}"]
        said = [f"{subject}: found, see above" for subject in row["found"]]
        said += [f"{each['subject']}: {each['why']}" for each in row["content"]]
        said += [f"{each['subject']}: not judged, {each['missing']} is not given" for each in row["unjudged"]]
        for words in said or ["nothing in this job to look at"]:
            lines += wrap(words, width, "    ", "      ")
    return "\n".join(lines) + "\n\n" if lines else ""
