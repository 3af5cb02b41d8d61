"""`check --fix`: edits only what it says, keeps the file's layout, and keeps a fix only where it holds."""

import codecs
import sys
from pathlib import Path

import pytest

from wiregen.cli import fix, main, new
from wiregen.cli.check import Task
from wiregen.cli.jobs import look
from wiregen.findings import Edit, Source, Span

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "rules"))
from rule_cases import standard

from wiregen.rules.explain import sections
from wiregen.rules.register import JUDGING

ROOT = Path(__file__).resolve().parents[2]
STARTER = (Path(new.__file__).parent / new.STARTER).read_text(encoding="utf-8")
BIG_FUSE = STARTER.replace("F3 20 A strip,", "F3  80 A strip,   ")  # too large for what it protects
Captured = pytest.CaptureFixture[str]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def put(data: bytes | str, name: str = "van.wnet") -> Path:
    path = Path(name)
    path.write_bytes(data.encode() if isinstance(data, str) else data)
    return path


def task(name: str = "van.wnet") -> Task:
    return Task(name, (), "2026-11-25", "", False, None)


def changed_lines(before: str, after: str) -> int:
    return sum(a != b for a, b in zip(before.splitlines(), after.splitlines(), strict=True))


FIXABLE = ["crossed-trailer-plug", "inverter-backwards", "thin-feed-to-the-rear"]


@pytest.mark.parametrize("name", FIXABLE)
def test_a_faulty_example_is_sound_afterwards(name: str, capsys: Captured) -> None:
    before = (ROOT / "examples" / "faulty" / f"{name}.wnet").read_text(encoding="utf-8")
    path = put(before)
    assert main(["check", "van.wnet", "--fix"]) == 0
    captured = capsys.readouterr()
    after = path.read_text(encoding="utf-8")
    assert 1 <= changed_lines(before, after) <= 2
    assert (
        captured.out.startswith("--- van.wnet\n+++ van.wnet (fixed)\n@@ ") and "van.wnet: no findings" in captured.out
    )
    assert " is fixed: " in captured.err
    assert main(["check", "van.wnet"]) == 0


def test_only_the_value_is_written_anew() -> None:
    put(BIG_FUSE)
    mended = fix.mend(task(), BIG_FUSE)
    assert mended.after == BIG_FUSE.replace("F3  80 A strip,", "F3  40 A strip,")
    (said,) = mended.said
    assert said.startswith("van.wnet: oversized-fuse on ") and " is fixed: fit F3 at 40 A" in said


def test_diff_only_shows(capsys: Captured) -> None:
    path = put(BIG_FUSE)
    assert main(["check", "van.wnet", "--fix", "--diff"]) == 1
    captured = capsys.readouterr()
    assert "-fuse    F3  80 A strip," in captured.out and "+fuse    F3  40 A strip," in captured.out
    assert "would be fixed" in captured.err and path.read_text(encoding="utf-8") == BIG_FUSE


def test_a_file_that_cannot_be_read_ends_with_2(capsys: Captured) -> None:
    put(BIG_FUSE)
    put("fuse F1 30 Q\n", "broken.wnet")
    assert main(["check", "van.wnet", "broken.wnet", "--fix", "--diff"]) == 2
    assert main(["check", "van.wnet", "missing.wnet", "--fix", "--diff"]) == 2
    assert main(["check", "van.wnet", "broken.wnet", "--fix"]) == 2
    assert "F3  40 A" in Path("van.wnet").read_text(encoding="utf-8")
    capsys.readouterr()


def test_a_file_that_may_not_be_written_ends_with_3_and_all_files_stay(
    capsys: Captured, monkeypatch: pytest.MonkeyPatch
) -> None:
    paths = [put(BIG_FUSE, "a.wnet"), put(BIG_FUSE, "b.wnet")]

    def refused(path: str, mode: int) -> bool:
        return not path.endswith("b.wnet")

    monkeypatch.setattr("os.access", refused)
    assert main(["check", "a.wnet", "b.wnet", "--fix"]) == 3
    assert all(path.read_text(encoding="utf-8") == BIG_FUSE for path in paths)
    captured = capsys.readouterr()
    assert captured.out == "" and "b.wnet could not be written: it is read-only" in captured.err


def test_the_difference_keeps_tabs_and_shows_what_would_steer_a_terminal(capsys: Captured) -> None:
    text = BIG_FUSE.replace("fuse    F3  80 A", "fuse\tF3  80 A").replace(
        "isolator Q1 50 A", "isolator Q1 50 A # \u202e"
    )
    assert "\u202e" in text and "\t" in text
    put(text.replace("# \u202e, at boot, volts 48 V", ", at boot, volts 48 V # \u202e"))
    assert main(["check", "van.wnet", "--fix", "--diff"]) == 1
    out = capsys.readouterr().out
    assert "+fuse\tF3  40 A" in out and "<U+202E>" in out and "\u202e" not in out


def test_nothing_to_fix_leaves_the_file_alone(capsys: Captured) -> None:
    path = put(STARTER)
    stamp = path.stat().st_mtime_ns
    assert main(["check", "van.wnet", "--fix"]) == 0
    assert main(["check", "van.wnet", "--fix", "--diff"]) == 0
    assert path.stat().st_mtime_ns == stamp and "nothing here has one clear fix" in capsys.readouterr().err


@pytest.mark.parametrize("start", [b"", codecs.BOM_UTF8])
def test_line_ends_and_byte_order_mark_stay(start: bytes) -> None:
    path = put(start + BIG_FUSE.replace("\n", "\r\n").encode())
    assert main(["check", "van.wnet", "--fix"]) == 0
    fixed = BIG_FUSE.replace("F3  80 A", "F3  40 A").replace("\n", "\r\n").encode()
    assert path.read_bytes() == start + fixed


def test_a_file_with_mixed_line_ends_is_left_alone(capsys: Captured) -> None:
    mixed = BIG_FUSE.replace("\n", "\r\n", 3).encode()
    path = put(mixed)
    assert main(["check", "van.wnet", "--fix"]) == 1
    assert path.read_bytes() == mixed and "is left as it is" in capsys.readouterr().err


def test_slips_of_the_text_are_written_as_they_were_read() -> None:
    text = (
        STARTER.replace("0.4 m]", "0,4 m]")
        .replace("1.5 m]", "1,5 m]")
        .replace("R1 red 150 mm]-- F1", "R1 red 150 mm]—F1")
    )
    mended = fix.mend(task(), text)
    assert mended.after == STARTER.replace("]-- F1", "]--F1", 1)
    assert len(mended.said) == 3
    assert all("netlist-mistake in line " in line and " is fixed: " in line for line in mended.said)


def test_slips_are_mended_beside_a_mistake_that_is_not() -> None:
    mended = fix.mend(task(), "battery start 70 Ah flooded, resistance 6,5 mohm\nfues F1 40 A\n")
    assert mended.after == "battery start 70 Ah flooded, resistance 6.5 mohm\nfues F1 40 A\n"


def test_a_fix_that_brings_something_new_is_not_kept() -> None:
    """With F3 at the rating that the conductor bears, the load would open it."""
    text = BIG_FUSE.replace("fridge 5 A", "fridge 41 A")
    assert text != BIG_FUSE
    put(text)
    mended = fix.mend(task(), text)
    for line in mended.said:
        assert " is fixed: " in line or " is left: the clear fix " in line
    before, after = (look("van.wnet", (), text=t) for t in (text, mended.after))
    assert {(f.rule, f.subject) for f in after.findings} <= {(f.rule, f.subject) for f in before.findings}


def test_a_conductor_that_has_its_size_from_each_gets_its_own() -> None:
    text = STARTER.replace("each 4 mm2", "each 1.5 mm2").replace("fridge 5 A", "fridge 12 A")
    put(text)
    mended = fix.mend(task(), text)
    assert any(" is fixed: " in line for line in mended.said), mended.said
    line = next(line for line in mended.after.splitlines() if "-- F3 --" in line)
    assert "each 1.5 mm2" in mended.after and " mm2 1.5 m]--" in line


def test_what_is_accepted_is_not_fixed(capsys: Captured) -> None:
    put(BIG_FUSE)
    found = look("van.wnet", ()).findings
    accepted = BIG_FUSE + "".join(f'accept {f.rule} on {f.subject} because "it is so"\n' for f in found)
    path = put(accepted)
    assert main(["check", "van.wnet", "--fix"]) == 0
    assert path.read_text(encoding="utf-8") == accepted
    capsys.readouterr()


def test_standard_input_cannot_be_mended(monkeypatch: pytest.MonkeyPatch, capsys: Captured) -> None:
    monkeypatch.setattr("wiregen.cli.streams.read_bytes", lambda: BIG_FUSE.encode())
    assert main(["check", "-", "--fix"]) == 1
    assert "standard input cannot be mended" in capsys.readouterr().err


def test_a_report_for_a_program_stays_clean(capsys: Captured) -> None:
    put(BIG_FUSE)
    assert main(["check", "van.wnet", "--fix", "--output", "json"]) == 0
    captured = capsys.readouterr()
    assert captured.out.startswith("{") and "+++ van.wnet (fixed)" in captured.err


def test_edits_of_another_text_or_over_each_other_are_refused() -> None:
    source = Source("van.wnet", "fuse F1 30 A\n")
    edit = Edit(Span(source, 8, 12), "20 A")
    assert fix.apply([edit], "van.wnet", source.text) == "fuse F1 20 A\n"
    assert fix.apply([edit], "kit.wnet", source.text) is None
    assert fix.apply([edit], "van.wnet", "# moved\n" + source.text) is None
    assert fix.apply([edit, Edit(Span(source, 10, 13), "x")], "van.wnet", source.text) is None


@pytest.mark.parametrize("rule", JUDGING)
def test_on_the_bad_netlist_of_every_rule_a_kept_fix_holds(rule: str) -> None:
    """Whatever is proposed there: kept, the finding is gone and nothing new has come; else the text is the same."""
    text = "# a comment   \n" + standard(sections(rule)["Bad"] + "\n")
    put(text)
    before = look("van.wnet", (), text=text)
    mended = fix.mend(task(), text)
    after = look("van.wnet", (), text=mended.after)
    had, has = ({(f.rule, f.subject) for f in each.findings} for each in (before, after))
    assert has <= had
    kept = [line for line in mended.said if " is fixed: " in line]
    assert (mended.after == text) == (not kept)
    assert len(had) - len(has) >= len(kept)


@pytest.mark.parametrize(
    "rule", ["undersized-conductor", "undersized-return", "undersized-fuse", "profile-mismatch", "reversed-polarity"]
)
def test_these_rules_have_a_clear_fix_for_their_bad_netlist(rule: str) -> None:
    text = standard(sections(rule)["Bad"] + "\n")
    put(text)
    assert any(f"{rule} on " in line and " is fixed: " in line for line in fix.mend(task(), text).said)
