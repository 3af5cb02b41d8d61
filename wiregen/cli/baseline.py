"""A baseline: the findings that a team has on old netlists, written down so that only new ones stop it.

They stay in every report, marked as accepted, because a finding that is old is no less true. Each is known by file,
rule, subject and the words of its line (`findings/fingerprint.py`), not by line numbers.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import NamedTuple

from wiregen.cli import streams
from wiregen.findings import NOTICE, Acceptance, Finding
from wiregen.findings.fingerprint import numbered
from wiregen.findings.report import Checked
from wiregen.rules.acceptance import NEVER

FORMAT = "wiregen-baseline/1"
KEYS = ("file", "rule", "subject", "fingerprint")


class Entry(NamedTuple):
    """One finding of a baseline. `file` is seen from the folder of the baseline."""

    file: str
    rule: str
    subject: str
    fingerprint: str


def written(files: Sequence[Checked], path: str) -> tuple[str, list[Finding]]:
    """The text of a baseline at `path` of all that is not accepted, and those findings."""
    from wiregen.findings.json import dumps

    found = _entries(files, path)
    entries = sorted(entry for _, entry in found)
    document = {"format": FORMAT, "entries": [entry._asdict() for entry in entries], "notice": NOTICE}
    return dumps(document), [finding for finding, _ in found]


def read_baseline(path: str) -> frozenset[Entry]:
    """The entries of a baseline file. Ends the command with 2 where it is none."""
    import json

    shown = path.replace(os.sep, "/")
    try:
        document = json.loads(streams.read_file(path))
        if document["format"] != FORMAT:
            raise ValueError(f"it says {document['format']}")
        entries = frozenset(Entry(*(str(each[key]) for key in KEYS)) for each in document["entries"])
    except FileNotFoundError:
        streams.tell(f"wiregen: there is no baseline {shown}; `wiregen check --write-baseline {shown}` makes one")
        raise SystemExit(2) from None
    except OSError as error:
        streams.tell(f"wiregen: the baseline {shown} could not be read: {streams.why(error, reading=True)}")
        raise SystemExit(2) from None
    except (ValueError, KeyError, TypeError, RecursionError):
        streams.tell(f"wiregen: {shown} is no baseline of wiregen; `--write-baseline` makes one")
        raise SystemExit(2) from None
    return entries


def with_baseline(files: Sequence[Checked], path: str) -> list[Checked]:
    """The files with the findings that the baseline knows accepted; what it knows and is gone is said as advice."""
    known = read_baseline(path)
    shown = path.replace(os.sep, "/")
    why = Acceptance(f"it is in the baseline {shown}", known=True)
    matched = {}
    for finding, entry in _entries(files, path):
        if entry in known:
            matched[id(finding)] = entry
    out = [
        each._replace(findings=tuple(replace(f, accepted=why) if id(f) in matched else f for f in each.findings))
        for each in files
    ]
    folder = os.path.dirname(path)
    looked = {_seen_from(each.path, folder) for each in files if each.readable}
    for entry in sorted(known - set(matched.values())):
        if entry.file in looked or not os.path.exists(os.path.join(folder, entry.file)):
            on = f" on {entry.subject}" if entry.subject else ""
            stale = Finding(
                rule="stale-acceptance",
                severity="advice",
                message=f"nothing to accept: {entry.rule} no longer finds this{on} in {entry.file}",
                subject=entry.subject or None,
                reason="if the finding comes back it would be accepted unseen",
                remedy="take its entry out; or, once nothing new is found, write the baseline again: "
                f"--write-baseline {shown}",
                basis="common practice: a deviation is recorded with what it deviates from",
                path=shown,
            )
            at = next((i for i, each in enumerate(out) if _seen_from(each.path, folder) == entry.file), 0)
            out[at] = out[at]._replace(findings=(*out[at].findings, stale))
    return out


def _entries(files: Iterable[Checked], path: str) -> list[tuple[Finding, Entry]]:
    folder = os.path.dirname(path)
    out = []
    for each in files:
        job = _seen_from(each.path, folder)
        for finding, mark in numbered(each.findings):
            if finding.accepted is None and finding.rule not in NEVER and not finding.lost:
                out.append((finding, Entry(job, finding.rule, finding.subject or "", mark)))
    return out


def _seen_from(path: str, folder: str) -> str:
    try:
        return os.path.relpath(path, folder or os.curdir).replace(os.sep, "/")
    except ValueError:
        return os.path.basename(path)
