"""What all tests share.

No timing limits on generated examples; nothing is skipped unnoticed on the CI machine; the commands that tests start
can be stopped from the keyboard, even where the tests themselves run in the background.
"""

import os
import signal
from collections.abc import Generator

import pytest
from hypothesis import settings

settings.register_profile("wiregen", deadline=None)
settings.load_profile("wiregen")

for _stop in (signal.SIGINT, signal.SIGHUP):  # a shell may have its background jobs ignore these, children with them
    if signal.getsignal(_stop) is signal.SIG_IGN:
        signal.signal(_stop, signal.default_int_handler if _stop == signal.SIGINT else signal.SIG_DFL)

ON_CI = os.environ.get("CI") == "true"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """On the CI machine a reference tool that is missing is a failure: `.ci/run` installs them all."""
    report = yield
    if ON_CI and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"{item.nodeid} was skipped on the CI machine: {report.longrepr}"
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(
    collector: pytest.Collector,
) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    """The same for a whole module (`pytest.importorskip`)."""
    report = yield
    if ON_CI and report.skipped:
        report.outcome = "failed"
        report.longrepr = f"{collector.nodeid} was skipped on the CI machine: {report.longrepr}"
    return report
