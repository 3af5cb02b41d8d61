"""Every example in every format, held against the published schemas; the same bytes in any order and on any run."""

import json
import os
import re
import subprocess
import sys
from copy import deepcopy
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import jsonschema
import pytest

import wiregen
from wiregen.cli import main
from wiregen.findings import NOTICE

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = Path(wiregen.__file__).parent
EXAMPLES = [p.relative_to(ROOT).as_posix() for p in sorted((ROOT / "examples").glob("**/*.wnet"))]
SHAPES = ["text", "json", "sarif", "junit", "annotations"]


def load(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def strict(schema: Any) -> Any:
    """The schema, allowing no key that it does not name: what is new in an output has to be told in the schema."""
    if isinstance(schema, list):
        return [strict(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    out = {key: strict(value) for key, value in schema.items()}
    if "properties" in out and isinstance(out.get("required"), list):
        out.setdefault("additionalProperties", False)
    return out


FINDINGS = load(PACKAGE / "findings" / "findings.schema.json")
STUDY = load(PACKAGE / "circuit" / "study.schema.json")
SARIF = jsonschema.Draft4Validator(load(ROOT / "tests" / "findings" / "sarif-2.1.0.schema.json"))


@pytest.fixture(autouse=True)
def at_root(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)


Captured = pytest.CaptureFixture[str]


def printed(capsys: Captured, *words: str) -> str:
    assert main(list(words)) in (0, 1)
    return capsys.readouterr().out


@pytest.mark.parametrize("schema", [FINDINGS, STUDY], ids=["findings", "study"])
def test_the_schemas_are_schemas_and_notice_what_is_wrong(schema: Any) -> None:
    jsonschema.Draft202012Validator.check_schema(schema)
    assert strict(deepcopy(schema)) != schema
    assert not jsonschema.Draft202012Validator(schema).is_valid({"format": schema["title"]})


@pytest.mark.parametrize("path", EXAMPLES)
def test_findings_and_study_of_an_example_keep_their_contracts(path: str, capsys: Captured) -> None:
    found = json.loads(printed(capsys, "check", path, "--output", "json", "--explain-silence"))
    jsonschema.Draft202012Validator(strict(FINDINGS)).validate(found)
    computed = json.loads(printed(capsys, "study", path, "--output", "json"))
    jsonschema.Draft202012Validator(strict(STUDY)).validate(computed)


def test_all_examples_as_sarif_keep_the_published_schema(capsys: Captured) -> None:
    document = json.loads(printed(capsys, "check", "examples", "--output", "sarif"))
    SARIF.validate(document)
    (run,) = document["runs"]
    assert len(run["results"]) >= 8 and all(rule["help"]["markdown"] for rule in run["tool"]["driver"]["rules"])


def test_a_job_that_cannot_be_read_keeps_the_contracts_too(tmp_path: Path, capsys: Captured) -> None:
    job = tmp_path / "broken.wnet"
    job.write_text('job "J"\nfuse F1 30 Q\n', encoding="utf-8")
    for shape in ("json", "sarif"):
        assert main(["check", str(job), "missing.wnet", "--output", shape]) == 2
        document = json.loads(capsys.readouterr().out)
        (SARIF if shape == "sarif" else jsonschema.Draft202012Validator(strict(FINDINGS))).validate(document)


def test_junit_has_a_suite_for_each_file(capsys: Captured) -> None:
    root = ElementTree.fromstring(printed(capsys, "check", "examples/faulty", "--output", "junit"))
    names = [suite.get("name") for suite in root]
    assert names == [path for path in EXAMPLES if path.startswith("examples/faulty/")]
    assert all(suite.get("failures") == "1" for suite in root)


def test_annotations_name_file_and_line(capsys: Captured) -> None:
    lines = printed(capsys, "check", "examples/faulty", "--output", "annotations").splitlines()
    assert all(re.match(r"::(error|warning) file=examples/faulty/[\w-]+\.wnet,line=\d+,", line) for line in lines[:-2])


@pytest.mark.parametrize("shape", SHAPES)
def test_every_format_carries_the_notice(shape: str, capsys: Captured) -> None:
    text = printed(capsys, "check", "examples/faulty/sense-cavity-empty.wnet", "--output", shape)
    assert NOTICE in " ".join(text.split()).replace("&apos;", "'")


@pytest.mark.parametrize("shape", SHAPES)
def test_any_order_of_files_gives_the_same_bytes(shape: str, capsys: Captured) -> None:
    files = [path for path in EXAMPLES if path.startswith("examples/faulty/")][:4]
    once = printed(capsys, "check", *files, "--output", shape)
    assert once == printed(capsys, "check", *reversed(files), files[0], "--output", shape)
    assert once == printed(capsys, "check", files[2], files[0], files[3], f"./{files[1]}"[2:], "--output", shape)


def test_any_number_of_processes_and_any_hash_seed_gives_the_same_bytes() -> None:
    outputs = set()
    for seed, jobs in (("0", "1"), ("1", "2"), ("2", "3")):
        command = [sys.executable, "-m", "wiregen", "check", "examples/faulty", "--output", "sarif", "--jobs", jobs]
        env = {**os.environ, "PYTHONHASHSEED": seed}
        run = subprocess.run(command, cwd=ROOT, env=env, capture_output=True, text=True)
        assert run.returncode == 1 and run.stderr == ""
        outputs.add(run.stdout)
    assert len(outputs) == 1


def test_standard_input_goes_with_several_processes() -> None:
    text = (ROOT / "examples" / "dual-battery.wnet").read_bytes()
    command = [sys.executable, "-m", "wiregen", "check", "-", "examples/caravan.wnet", "--jobs", "2"]
    run = subprocess.run(command, cwd=ROOT, input=text, capture_output=True)
    assert run.returncode == 0 and run.stderr == b"" and b"2 files: " in run.stdout
