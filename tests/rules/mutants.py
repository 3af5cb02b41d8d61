"""Mutation testing of wiregen/rules with mutmut, in a copy: never in the project itself.

    python tests/rules/mutants.py FOLDER            # the copy; FOLDER must not exist yet
    cd FOLDER && mutmut run wiregen.rules.words.x_amps__mutmut_1        # makes all mutants, and sees who tests what
    python tests/rules/mutants.py --quick FOLDER    # the tests that run netlists, in one process: a few minutes
    python tests/rules/mutants.py --quick FOLDER centre_tap returns     # of these modules only
    cd FOLDER && mutmut run && mutmut results       # the other tests, on the mutants that are left

mutmut leaves decorated functions alone, so in the copy `@rule(...)` is applied below each `check`. The quick pass calls
the same test functions as pytest would, on studies computed once for all mutants, and notes what they kill for mutmut.
"""

from __future__ import annotations

import gc
import json
import os
import re
import resource
import shutil
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
PARTS = ("wiregen", "grammar", "examples", "tests", "README.md", "pyproject.toml")
TESTS = (
    "test_said", "test_engine", "test_record", "test_rule_words", "test_pages", "test_remedies", "test_unfused_remedy",
    "test_worn_joints", "test_unsteady", "test_charging_evidence", "test_colours",
)  # fmt: skip
"""Tests for mutmut. `test_said` comes first: it tells which rules a function serves."""
RECORD = {"acceptance", "engine", "explain", "missing_data", "register", "rule_failure", "stale_acceptance", "unnamed"}
"""Modules that no netlist of a case file says much about: left to pytest."""
MEMORY = 4 << 30
"""Bytes: a mutant that asks for more is killed."""
LONGEST = 60
"""Seconds after which a mutant in the quick pass hangs: killed."""
SETTINGS = f"""
[tool.mutmut]
source_paths = ["wiregen"]
only_mutate = ["wiregen/rules/*"]
also_copy = ["wiregen", "grammar", "examples", "tests", "README.md"]
pytest_add_cli_args = ["-p", "no:randomly", "-x"]
pytest_add_cli_args_test_selection = {[f"tests/rules/{name}.py" for name in TESTS]}
"""


def prepare(folder: Path) -> None:
    """The copy with undecorated rules and mutmut's settings. The folder must not exist yet."""
    folder.mkdir(parents=True)
    for name in PARTS:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, folder / name)
    for path in sorted((folder / "wiregen" / "rules").glob("*.py")):
        path.write_text(undecorated(path.read_text(encoding="utf-8")), encoding="utf-8")
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as settings:
        settings.write(SETTINGS)


def undecorated(text: str) -> str:
    """A rule's module with the decorator of `check` applied at its end."""
    found = re.search(r"(?ms)^@(rule\(.*?\))\ndef check\(", text)
    if found is None:
        return text
    return f"{text[: found.start()]}def check({text[found.end() :]}\n\ncheck = {found[1]}(check)\n"


class Hangs(BaseException):
    """A mutant takes too long; no `except Exception` of a rule or the engine swallows it."""


def quick(folder: Path, modules: list[str]) -> None:
    """Notes in mutmut's records which mutants the netlist tests kill, of all modules where none are named.

    Those that are left stay to be tested.
    """
    os.chdir(folder / "mutants")
    sys.path[:0] = [".", "tests/rules"]
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    set_mutant = _trampoline()
    set_mutant("")
    from wiregen.circuit.network import Network
    from wiregen.rules.register import JUDGING

    tests = _tests()
    networks = [each for each in gc.get_objects() if isinstance(each, Network)]
    serves = _rules_of_functions()
    signal.signal(signal.SIGALRM, _hangs)
    for meta in sorted(Path("wiregen/rules").glob("*.meta")):
        module = meta.name.removesuffix(".py.meta")
        if module in RECORD or (modules and module not in modules):
            continue
        record: dict[str, Any] = json.loads(meta.read_text(encoding="utf-8"))
        codes: dict[str, int | None] = record["exit_code_by_key"]
        for mutant in [name for name, code in codes.items() if code is None]:
            own = module.replace("_", "-")
            rules = [own] if own in JUDGING else serves.get(mutant.rpartition("__mutmut_")[0], [])
            _forget(networks)
            set_mutant(mutant)
            if _killed(tests, rules):
                codes[mutant] = 1
            set_mutant("")
        _forget(networks)
        meta.write_text(json.dumps(record), encoding="utf-8")
        print(module, sum(code == 1 for code in codes.values()), "of", len(codes), flush=True)


def _forget(networks: Iterable[Any]) -> None:
    """Answers of rules that a network keeps (`once`): a mutant must not find those of another, nor leave its own."""
    for network in networks:
        for name in [name for name in network.answers if name.startswith("wiregen.rules.")]:
            del network.answers[name]


def _trampoline() -> Callable[[str], None]:
    from mutmut.mutation.trampoline import set_mutant_under_test

    return set_mutant_under_test


def _tests() -> tuple[Callable[[str], None], ...]:
    """The netlist tests, each for one rule, after one run without a mutant."""
    import test_faults
    import test_in_kits
    import test_said
    import test_side_by_side

    from wiregen.rules.register import JUDGING

    studies = cache(lambda text: test_faults.study(test_faults.read("job.wnet", text=text)[0])[0])
    test_faults.findings = lambda text: list(test_faults.check(studies(text)))
    faults = {rule: [_first(test_faults, rule, planter) for planter in test_faults.PLANTERS[rule]] for rule in JUDGING}

    def planted(rule: str) -> None:
        for fault in faults[rule]:
            test_faults.assert_found(rule, fault)

    tests = (
        test_said.test_a_rule_says_what_is_written_down,
        test_in_kits.test_inside_a_kit_a_rule_says_the_same_and_through_which_use,
        lambda rule: None if rule in test_in_kits.ONCE else test_in_kits.test_of_two_alike_each_is_named(rule),
        lambda rule: (
            None
            if rule in test_side_by_side.ONCE
            else test_side_by_side.test_side_by_side_each_is_judged_as_if_it_were_alone(rule)
        ),
        planted,
    )
    for rule in JUDGING:
        for test in tests:
            test(rule)
    return tests


def _first(test_faults: Any, rule: str, planter: Any) -> Any:
    return next(fault for seed in test_faults.SEEDS for fault in planter(test_faults.job(seed)))


def _rules_of_functions() -> dict[str, list[str]]:
    """Function -> the rules whose held texts run it, by what mutmut has seen."""
    seen = json.loads(Path("mutmut-stats.json").read_text(encoding="utf-8"))["tests_by_mangled_function_name"]
    return {function: list(_rules(tests)) for function, tests in seen.items()}


def _rules(tests: list[str]) -> Iterator[str]:
    for test in tests:
        found = re.search(r"test_said\.py::test_a_rule_says_what_is_written_down\[(.*)\]", test)
        if found:
            yield found[1]


def _killed(tests: tuple[Callable[[str], None], ...], rules: list[str]) -> bool:
    signal.alarm(LONGEST)
    try:
        for rule in rules:
            for test in tests:
                test(rule)
    except (Exception, Hangs):
        return True
    finally:
        signal.alarm(0)
    return False


def _hangs(*_: object) -> None:
    raise Hangs


if __name__ == "__main__":
    if sys.argv[1] == "--quick":
        quick(Path(sys.argv[2]), sys.argv[3:])
    else:
        prepare(Path(sys.argv[1]))
