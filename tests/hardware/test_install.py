"""Installing and taking away again, under a folder of the test's own."""

import shutil
import subprocess
from pathlib import Path

import pytest

PROJECT = Path(__file__).parents[2]
HARDWARE = PROJECT / "hardware"
SITE = str(PROJECT / "configs" / "tarn-hollow")
BASH = shutil.which("bash") or "bash"
SETTINGS = "etc/spoken-brief"
RULES = "etc/udev/rules.d/85-spoken-brief.rules"


def script(name: str, *options: str) -> subprocess.CompletedProcess[str]:
    """Run one of the scripts."""
    return subprocess.run(
        [BASH, str(HARDWARE / name), *options], capture_output=True, text=True, check=False
    )


def tree(folder: Path) -> dict[str, bytes]:
    """Every file with its content."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file()
    }


@pytest.fixture
def box(tmp_path: Path) -> Path:
    """A machine's files after an installation."""
    done = script("install.sh", "--into", str(tmp_path), "--site", SITE)
    assert done.returncode == 0, done.stderr
    return tmp_path


def test_everything_that_the_services_name_is_there(box: Path) -> None:
    """The folders and files of the units' own lines."""
    for path in (
        "etc/systemd/system/spoken-brief-listen.service",
        "etc/systemd/system/spoken-brief-watch.service",
        "etc/systemd/system/spoken-brief-glance.service",
        "etc/modules-load.d/spoken-brief.conf",
        RULES,
        f"{SETTINGS}/asound.conf",
        f"{SETTINGS}/environment",
        f"{SETTINGS}/site/oximeter.yaml",
        "opt/spoken-brief/now/assistant/commands/main.py",
        "opt/spoken-brief/now/hardware/pins.txt",
        "opt/spoken-brief/now/docs/on-a-pi.md",
        "var/lib/spoken-brief/cases",
    ):
        assert (box / path).exists(), path
    assert not (box / "etc/systemd/system/spoken-brief-sound.service").exists()
    assert list(box.rglob("__pycache__")) == []


def test_cases_are_for_their_owner_only(box: Path) -> None:
    """From the first moment on."""
    for folder in ("var/lib/spoken-brief", "var/lib/spoken-brief/cases"):
        assert (box / folder).stat().st_mode & 0o777 == 0o700


def test_a_second_time_changes_nothing(box: Path) -> None:
    """Run again, every file is as it was."""
    before = tree(box)
    assert script("install.sh", "--into", str(box)).returncode == 0
    assert tree(box) == before


def test_what_a_site_changed_stays(box: Path) -> None:
    """A newer version comes to lie beside it; an own site folder is left alone altogether."""
    (box / RULES).write_text("# mine\n")
    (box / SETTINGS / "asound.conf").write_text("# mine too\n")
    (box / SETTINGS / "site" / "brief.yaml").write_text("name: ours\n")
    (box / "opt/spoken-brief/models/vosk").mkdir()
    assert script("install.sh", "--into", str(box)).returncode == 0
    assert (box / RULES).read_text() == "# mine\n"
    assert (box / f"{RULES}.new").read_text().startswith("# Stable names")
    assert (box / SETTINGS / "asound.conf").read_text() == "# mine too\n"
    assert (box / SETTINGS / "site" / "brief.yaml").read_text() == "name: ours\n"
    assert (box / "opt/spoken-brief/models/vosk").is_dir()


def test_the_echo_canceller_comes_and_goes(box: Path) -> None:
    """With the option its unit and its sound configuration; without it, the shared card again."""
    shared = (box / SETTINGS / "asound.conf").read_text()
    assert script("install.sh", "--into", str(box), "--echo-canceller").returncode == 0
    assert (box / "etc/systemd/system/spoken-brief-sound.service").exists()
    assert (box / SETTINGS / "echo.pa").exists()
    assert "type pulse" in (box / SETTINGS / "asound.conf").read_text()
    assert script("install.sh", "--into", str(box)).returncode == 0
    assert (box / SETTINGS / "asound.conf").read_text() == shared


def test_the_glance_display_is_off_until_a_site_wants_it(box: Path) -> None:
    """Its unit lies ready; nothing enables it, and the example site has no settings for it."""
    assert not list(box.rglob("*.wants"))
    assert not (box / SETTINGS / "site" / "glance.yaml").exists()
    done = script("install.sh", "--dry-run")
    enabling = [line for line in done.stdout.splitlines() if "systemctl enable" in line]
    assert all("glance" not in line for line in enabling)


def test_a_dry_run_says_each_step_and_does_none(tmp_path: Path) -> None:
    """Nothing is there after it, and it asks for no rights."""
    done = script("install.sh", "--dry-run", "--into", str(tmp_path), "--site", SITE)
    assert done.returncode == 0
    assert tree(tmp_path) == {}
    assert "/etc/systemd/system/spoken-brief-watch.service" in done.stdout
    assert done.stdout.rstrip().endswith("nothing was changed)")


def test_a_link_among_the_sites_files_is_refused(tmp_path: Path) -> None:
    """As root it would be followed anywhere, and what it leads to would be for all to read."""
    secret, site = tmp_path / "secret", tmp_path / "site"
    secret.write_text("for its owner only", encoding="utf-8")
    shutil.copytree(SITE, site)
    (site / "notes.yaml").symlink_to(secret)
    done = script("install.sh", "--into", str(tmp_path / "box"), "--site", str(site))
    assert done.returncode == 1
    assert f"found the link {site}/notes.yaml; allowed: files and folders only" in done.stderr
    assert not (tmp_path / "box").exists()
    through = tmp_path / "stick"  # the folder itself may be named by one
    through.symlink_to(SITE)
    done = script("install.sh", "--into", str(tmp_path / "box"), "--site", str(through))
    assert done.returncode == 0, done.stderr
    assert tree(tmp_path / "box" / SETTINGS / "site") == tree(Path(SITE))


@pytest.mark.parametrize("name", ["install.sh", "uninstall.sh"])
@pytest.mark.parametrize("option", ["--nonsense", "--into", "--from", "--with", "--site"])
def test_a_wrong_option_is_refused(name: str, option: str) -> None:
    """One line with what was found and what is allowed, before anything is done."""
    done = script(name, option)
    assert done.returncode == 1
    assert len(done.stderr.splitlines()) == 1
    assert "found" in done.stderr
    assert "allowed:" in done.stderr


def test_taking_it_away_keeps_what_is_the_sites(box: Path) -> None:
    """Cases, models, the site's files and its udev rules are not the program's to delete."""
    kept = {
        "var/lib/spoken-brief/cases/one/journal.sqlite": "{}",
        "opt/spoken-brief/models/ours/model.bin": "model",
        RULES: "# mine",
        f"{SETTINGS}/site/brief.yaml": "name: ours",
    }
    for path, text in kept.items():
        (box / path).parent.mkdir(parents=True, exist_ok=True)
        (box / path).write_text(text)

    done = script("uninstall.sh", "--from", str(box))

    assert done.returncode == 0, done.stderr
    assert {path: (box / path).read_text() for path in kept} == kept
    parts = {"/".join(path.split("/")[:3]) for path in tree(box)}
    assert parts == {
        *("etc/spoken-brief/site", "etc/spoken-brief/asound.conf", "etc/spoken-brief/environment"),
        *("etc/udev/rules.d", "var/lib/spoken-brief", "opt/spoken-brief/models"),
    }


IN_MEMORY = "run/spoken-brief/spoken-brief-cases-1-0/current/journal.sqlite"


@pytest.mark.parametrize("open_case", ["var/lib/spoken-brief/cases/current", IN_MEMORY])
def test_taking_away_is_refused_while_a_case_is_open(box: Path, open_case: str) -> None:
    """On the disk or in memory: one sentence, and nothing is gone; with the word for it, the
    program goes, the case stays."""
    (box / open_case).mkdir(parents=True)
    before = tree(box)
    refused = script("uninstall.sh", "--from", str(box))
    assert (refused.returncode, len(refused.stderr.splitlines())) == (1, 1)
    assert "open case" in refused.stderr
    assert tree(box) == before

    assert script("uninstall.sh", "--from", str(box), "--interrupt-case").returncode == 0
    assert (box / open_case).exists()


def test_taking_away_everything(box: Path) -> None:
    """With every word said, no file is left."""
    (box / "opt/spoken-brief/models/ours").mkdir()
    options = ("--purge-cases", "--purge-site", "--purge-models", "--from", str(box))
    assert script("uninstall.sh", *options, "--dry-run").returncode == 0
    assert tree(box) != {}
    assert script("uninstall.sh", *options).returncode == 0
    assert tree(box) == {}
    assert not (box / "opt/spoken-brief").exists()


def test_taking_away_what_is_not_there(tmp_path: Path) -> None:
    """It ends well on a machine without it."""
    assert script("uninstall.sh", "--from", str(tmp_path)).returncode == 0
