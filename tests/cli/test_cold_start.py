"""How fast a cold start is, as a ratio beside `python -c "import lark"` on the same machine at the same time."""

import compileall
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
EXAMPLE = ROOT / "examples" / "dual-battery.wnet"
RUNS = 15


def seconds(*command: str) -> float:
    """Wall time of one run in a fresh process, without any cache folder of the user's."""
    env = {k: v for k, v in os.environ.items() if k not in ("HOME", "XDG_CACHE_HOME", "PYTHONDONTWRITEBYTECODE")}
    start = time.perf_counter()
    subprocess.run(
        [sys.executable, *command], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=env, check=True
    )
    return time.perf_counter() - start


@pytest.mark.benchmark
@pytest.mark.parametrize("command, limit", [("check", 3.0), ("draw", 6.0)])
def test_a_cold_run_stays_close_to_the_import_of_the_parser_library(
    command: str, limit: float, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    compileall.compile_dir(ROOT / "wiregen", quiet=1)
    run = ["-m", "wiregen", command, str(EXAMPLE), "-o", str(tmp_path / "out.svg")]
    yardstick = ["-c", "import lark"]
    seconds(*run)
    seconds(*yardstick)
    ours, theirs = [], []
    for _ in range(RUNS):  # side by side, so that a busy machine slows both
        theirs.append(seconds(*yardstick))
        ours.append(seconds(*run))
    ratio = statistics.median(ours) / statistics.median(theirs)
    with capsys.disabled():
        print(
            f"\nwiregen {command}: {statistics.median(ours) * 1000:.0f} ms,"
            f" import lark: {statistics.median(theirs) * 1000:.0f} ms, ratio {ratio:.2f} (at most {limit})"
        )
    assert ratio <= limit
