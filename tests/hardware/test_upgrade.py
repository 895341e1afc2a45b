"""A hospital's upgrade, under a folder of the test's own: checked beside, swapped, rolled back.

A shell script stands in for the environment's Python where only the order of the steps matters: it
notes what it is asked and ends as it is told. One test has the real one, and the real check.
"""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.fitting.reference_sentences import SENTENCES
from assistant.hearing.engines.closed.spellings import store
from tests.hardware.test_install import BASH, PROJECT, SITE, tree

PARTS = ("assistant", "configs", "docs", "hardware", "models")
SITE_FOLDER = "etc/spoken-brief/site"
NOT_RESPELT = ("ketamine", "ket")
"""The names for which Tarn Hollow gives no other spelling."""
CURRENT_CASE = "var/lib/spoken-brief/cases/current"
UNIT = "etc/systemd/system/spoken-brief-watch.service"

STAND_IN = """#!/bin/sh
here="$(dirname "$0")/.."
echo "$(pwd -P) $*" >>"$here/asked"
case "$*" in *--hearing*) exit "$(cat "$here/hearing")" ;; *) exit "$(cat "$here/check")" ;; esac
"""


SYSTEMCTL = """#!/bin/sh
here="$(dirname "$0")"
echo "$*" >>"$here/told"
case "$*" in
  "start "*)
    if grep -q newer "$here/../box/UNIT" && [ -e "$here/newer-fails" ]; then exit 1; fi
    if [ -e "$here/site-fails" ] && grep -q ours "$here/../box/SITE/brief.yaml"; then exit 1; fi ;;
  "stop spoken-brief-listen"*) if [ -e "$here/stop-fails" ]; then exit 1; fi ;;
  *is-enabled*) exit 1 ;;
esac
"""
"""It notes what it is told; newer services, those of another site, and the stop of the listener
fail where a file says so."""


def _but_for_a_few(folder: str, names: list[str]) -> list[str]:
    """What is left out of the source where a stand-in runs it: all but the scripts and the files
    that lie at the top."""
    within = Path(folder).relative_to(PROJECT)
    return [] if within.parts[0] == "hardware" else [n for n in names if Path(folder, n).is_dir()]


class Hospital:
    """A box, the program's source as it was brought there, and a stand-in for its environment.

    The `whole` source is there where the real program is to run.
    """

    def __init__(self, folder: Path, *, whole: bool = False) -> None:
        self.box, self.source, self.environment = (
            folder / name for name in ("box", "source", "environment")
        )
        for part in PARTS:
            left_out = shutil.ignore_patterns("__pycache__") if whole else _but_for_a_few
            shutil.copytree(PROJECT / part, self.source / part, ignore=left_out)
        for part in ("pyproject.toml", "README.md", "DEVELOPERS.md", "LICENSE"):
            shutil.copy(PROJECT / part, self.source / part)
        python = self.environment / "bin" / "python"
        python.parent.mkdir(parents=True)
        python.write_text(STAND_IN)
        python.chmod(0o755)
        self.checks(0, hearing=0)
        self.systemd = folder / "systemd"
        self.systemd.mkdir()
        control = self.systemd / "systemctl"
        control.write_text(SYSTEMCTL.replace("UNIT", UNIT).replace("SITE", SITE_FOLDER))
        control.chmod(0o755)

    def checks(self, check: int, *, hearing: int = 0) -> None:
        """How the checks end from now on, as exit codes."""
        (self.environment / "check").write_text(str(check))
        (self.environment / "hearing").write_text(str(hearing))

    def asked(self) -> list[str]:
        """Every check so far: the version that was asked, and the words."""
        return (self.environment / "asked").read_text().splitlines()

    def install(
        self, *options: str, source: Path | None = None, environment: Path | None = None
    ) -> subprocess.CompletedProcess[str]:
        script = (source or self.source) / "hardware" / "install.sh"
        to = ("--into", str(self.box), "--environment", str(environment or self.environment))
        return subprocess.run(
            [BASH, str(script), *to, *options],
            capture_output=True,
            text=True,
            check=False,
            env={**os.environ, "SPOKEN_BRIEF_SYSTEMCTL": str(self.systemd / "systemctl")},
        )

    def told(self) -> list[str]:
        """What systemctl was told to do with the two services, since this was asked last."""
        path = self.systemd / "told"
        lines = path.read_text().splitlines()
        path.write_text("")
        return [line for line in lines if line.startswith(("start", "stop"))]

    def new_version(self) -> None:
        """The source changes: a line of the program, and one of a unit."""
        with (self.source / "assistant" / "clock.py").open("a") as file:
            file.write("# newer\n")
        with (self.source / "hardware" / "systemd" / "spoken-brief-watch.service").open(
            "a"
        ) as file:
            file.write("# newer\n")

    @property
    def runs_the_newer(self) -> bool:
        """Whether program and unit are the newer ones; they must belong together."""
        now = self.box / "opt/spoken-brief/now/assistant/clock.py"
        program, unit = (path.read_text().endswith("# newer\n") for path in (now, self.box / UNIT))
        assert program == unit
        return program

    def versions(self) -> set[str]:
        return {path.name for path in (self.box / "opt/spoken-brief/versions").iterdir()}


@pytest.fixture
def hospital(tmp_path: Path) -> Hospital:
    """One where the first version was installed with a site."""
    one = Hospital(tmp_path)
    done = one.install("--site", SITE)
    assert done.returncode == 0, done.stderr
    return one


def test_an_upgrade_is_checked_before_it_takes_the_place(hospital: Hospital) -> None:
    """The new version reads the site, learns its drugs and hears the reference; then it is used."""
    old = (hospital.box / "opt/spoken-brief/now").resolve()
    hospital.new_version()

    assert hospital.install().returncode == 0

    new = (hospital.box / "opt/spoken-brief/now").resolve()
    site = hospital.box / SITE_FOLDER
    assert hospital.asked()[-2:] == [
        f"{new} -m assistant check --learn --site {site}",
        f"{new} -m assistant check --hearing --site {site}",
    ]
    assert hospital.runs_the_newer
    assert (hospital.box / "opt/spoken-brief/before").resolve() == old != new


@pytest.mark.parametrize(
    ("check", "hearing", "why"),
    [(2, 0, "check of the site's files failed"), (0, 1, "takes something"), (0, 2, "could not be")],
)
def test_a_failed_upgrade_changes_nothing(
    hospital: Hospital, check: int, hearing: int, why: str
) -> None:
    """The version and the site that were there stay in use, and a later try can succeed."""
    hospital.new_version()
    hospital.checks(check, hearing=hearing)
    settings = tree(hospital.box / "etc")

    done = hospital.install()

    assert done.returncode == 1
    assert why in done.stderr
    assert "nothing was changed" in done.stderr
    assert not hospital.runs_the_newer
    assert tree(hospital.box / "etc") == settings
    hospital.checks(0)
    assert hospital.install().returncode == 0
    assert hospital.runs_the_newer


def test_the_services_rest_only_for_the_swap(hospital: Hospital) -> None:
    """They are stopped when all is checked, and started at once; a failed check stops nothing."""
    hospital.new_version()
    hospital.told()
    hospital.checks(2)
    hospital.install()
    assert hospital.told() == []
    hospital.checks(0)
    hospital.install()

    assert [line.split()[0] for line in hospital.told()] == [*["stop"] * 4, "start"]


def test_services_that_do_not_start_bring_the_old_version_back(hospital: Hospital) -> None:
    """Program and units are the old ones again, and run; it is said, and ends with 1."""
    hospital.new_version()
    (hospital.systemd / "newer-fails").touch()
    hospital.told()

    done = hospital.install()

    assert done.returncode == 1
    assert "what was there before is back" in done.stderr
    assert not hospital.runs_the_newer
    assert hospital.told()[-1].startswith("start spoken-brief-watch")


def test_a_fault_in_the_swap_leaves_no_service_at_rest(hospital: Hospital) -> None:
    """A place that cannot be written ends the upgrade; the old version is started again."""
    hospital.new_version()
    shutil.rmtree(hospital.box / "etc/modules-load.d")
    (hospital.box / "etc/modules-load.d").touch()
    hospital.told()

    assert hospital.install().returncode != 0
    assert hospital.told()[-1].startswith("start spoken-brief-watch")
    now = hospital.box / "opt/spoken-brief/now"
    assert not (now / "assistant/clock.py").read_text().endswith("# newer\n")


@pytest.mark.parametrize("options", [(), ("--roll-back",)])
def test_a_service_that_cannot_be_stopped_leaves_no_other_at_rest(
    hospital: Hospital, options: tuple[str, ...]
) -> None:
    """The watcher, which was stopped before it, is started again, and all is as it was."""
    hospital.new_version()
    if options:
        hospital.install()
    before = hospital.runs_the_newer
    (hospital.systemd / "stop-fails").touch()
    hospital.told()

    assert hospital.install(*options).returncode != 0
    assert hospital.told()[-1].startswith("start spoken-brief-watch")
    assert hospital.runs_the_newer == before


def test_no_way_back_to_a_version_that_does_not_start(hospital: Hospital) -> None:
    """The one that ran is back, and runs; it is said, and a later try leads to the same."""
    hospital.new_version()
    hospital.install()
    hospital.install("--roll-back")
    (hospital.systemd / "newer-fails").touch()

    for _ in range(2):
        hospital.told()
        done = hospital.install("--roll-back")

        assert done.returncode == 1
        assert "what was there before is back" in done.stderr
        assert not hospital.runs_the_newer
        assert hospital.told()[-1].startswith("start spoken-brief-watch")


def test_services_that_do_not_start_bring_the_old_site_back(
    hospital: Hospital, tmp_path: Path
) -> None:
    """A site that was accepted, but with which nothing starts, makes room for the one before."""
    given = tmp_path / "ours"
    shutil.copytree(SITE, given)
    (given / "brief.yaml").write_text("name: ours\n")
    (hospital.systemd / "site-fails").touch()

    done = hospital.install("--site", str(given))

    assert done.returncode == 1
    assert tree(hospital.box / SITE_FOLDER) == tree(Path(SITE))
    assert list((hospital.box / SITE_FOLDER).parent.glob("site.*")) == []
    assert (given / "brief.yaml").exists()


def test_back_to_the_version_before_and_forth(hospital: Hospital) -> None:
    """Program and units go back together; a second time leads to the newer again."""
    hospital.new_version()
    hospital.install()

    assert hospital.install("--roll-back").returncode == 0
    assert not hospital.runs_the_newer
    assert hospital.install("--roll-back").returncode == 0
    assert hospital.runs_the_newer


def test_no_way_back_to_a_version_that_refuses_the_site(hospital: Hospital) -> None:
    """What the version before does not take is said, and the newer stays in use."""
    hospital.new_version()
    hospital.install()
    hospital.checks(2)

    done = hospital.install("--roll-back")

    assert (done.returncode, hospital.runs_the_newer) == (1, True)
    assert "does not take the site's files" in done.stderr


def test_nothing_to_go_back_to(hospital: Hospital) -> None:
    """After a first installation a roll-back is refused in one sentence."""
    done = hospital.install("--roll-back")

    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)


def test_only_two_versions_are_kept(hospital: Hospital) -> None:
    """The one in use and the one before it."""
    for _ in range(3):
        hospital.new_version()
        assert hospital.install().returncode == 0

    assert len(hospital.versions()) == 2


def test_an_interrupted_build_is_begun_again(hospital: Hospital) -> None:
    """A version that is not whole is not taken for one."""
    hospital.new_version()
    hospital.checks(2)
    hospital.install()
    (half,) = hospital.versions() - {(hospital.box / "opt/spoken-brief/now").resolve().name}
    folder = hospital.box / "opt/spoken-brief/versions" / half
    (folder / "built").unlink()
    shutil.rmtree(folder / "assistant")
    hospital.checks(0)

    assert hospital.install().returncode == 0
    assert hospital.runs_the_newer


def test_through_a_link_nothing_is_deleted(hospital: Hospital, tmp_path: Path) -> None:
    """Run from the installed program, directly or through a link, it finds all as it should be."""
    link = tmp_path / "link"
    link.symlink_to(hospital.box / "opt/spoken-brief/now")
    before = tree(hospital.box / "opt/spoken-brief/versions")

    for source in (link, hospital.box / "opt/spoken-brief/now"):
        assert hospital.install(source=source).returncode == 0

    assert tree(hospital.box / "opt/spoken-brief/versions") == before


def test_a_checkout_behind_a_link_stays_whole(hospital: Hospital, tmp_path: Path) -> None:
    """A link to the source is no reason to delete the source."""
    link = tmp_path / "link"
    link.symlink_to(hospital.source)
    before = tree(hospital.source)

    assert hospital.install(source=link).returncode == 0
    assert tree(hospital.source) == before


def test_what_an_earlier_installer_left_goes_and_its_models_stay(hospital: Hospital) -> None:
    """A program that lay in the folder itself makes room, after the new one was checked."""
    program = hospital.box / "opt/spoken-brief"
    shutil.rmtree(program)
    (program / "models/ours").mkdir(parents=True)
    (program / "assistant").mkdir()
    (program / "assistant/old.py").write_text("")
    hospital.checks(2)
    hospital.install()
    assert (program / "assistant/old.py").exists()
    hospital.checks(0)

    assert hospital.install().returncode == 0
    assert not (program / "assistant").exists()
    assert (program / "now/models/ours").is_dir()


def test_without_a_site_it_is_asked_for(tmp_path: Path) -> None:
    """No box gets the demonstration's doses unless somebody names them."""
    one = Hospital(tmp_path)

    done = one.install()

    assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)
    assert "--site DIR" in done.stderr
    assert not one.box.exists() or tree(one.box) == {}


def test_another_site_takes_the_place_when_it_is_accepted(
    hospital: Hospital, tmp_path: Path
) -> None:
    """It is checked beside, and the one that was there is kept beside it; a refused one is gone."""
    given = tmp_path / "ours"
    shutil.copytree(SITE, given)
    (given / "brief.yaml").write_text("name: ours\n")
    hospital.checks(2)
    settings = tree(hospital.box / "etc")
    assert hospital.install("--site", str(given)).returncode == 1
    assert tree(hospital.box / "etc") == settings
    hospital.checks(0)

    assert hospital.install("--site", str(given)).returncode == 0
    assert (hospital.box / SITE_FOLDER / "brief.yaml").read_text() == "name: ours\n"
    (kept,) = (hospital.box / SITE_FOLDER).parent.glob("site.*")
    assert tree(kept) == tree(Path(SITE))
    assert hospital.asked()[-1].endswith("--site " + str(hospital.box / SITE_FOLDER) + ".next")
    assert hospital.install("--site", str(given)).returncode == 0
    assert [kept] == list((hospital.box / SITE_FOLDER).parent.glob("site.*"))


def test_no_upgrade_while_a_case_is_open(hospital: Hospital) -> None:
    """Refused in one sentence, unless the word for it is said."""
    (hospital.box / CURRENT_CASE).mkdir()
    hospital.new_version()

    for options in ((), ("--roll-back",)):
        done = hospital.install(*options)
        assert (done.returncode, len(done.stderr.splitlines())) == (1, 1)
        assert "open case" in done.stderr
    assert not hospital.runs_the_newer
    assert hospital.install("--interrupt-case").returncode == 0
    assert hospital.runs_the_newer


def test_the_real_check_refuses_a_site_with_a_fault(tmp_path: Path) -> None:
    """With the real program: its own sentence is told, and the old version stays."""
    one = Hospital(tmp_path, whole=True)
    assert one.install("--site", SITE).returncode == 0
    one.new_version()
    wording = one.box / SITE_FOLDER / "wording.yaml"
    wording.write_text(wording.read_text() + "\nnonsense: 1\n")

    done = one.install(environment=Path(sys.prefix))

    assert done.returncode == 1
    assert "nonsense" in done.stderr
    assert "Traceback" not in done.stderr
    assert not one.runs_the_newer


def bring_some(fitting: Path) -> None:
    """Leave every fourteenth sentence of a copied reference set, and its scores."""
    with (fitting / "reference_sentences.py").open("a") as module:
        module.write("\nSENTENCES = SENTENCES[::14]\n")
    left = {one.text for one in SENTENCES[::14]}
    path = fitting / "reference.json"
    reference = json.loads(path.read_text())
    reference["scores"] = [one for one in reference["scores"] if one["text"] in left]
    path.write_text(json.dumps(reference))


@pytest.mark.slow
def test_the_real_check_and_hearing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the real program, Tarn Hollow is read and the reference set heard, then installed.

    Some of the set is brought along: all of it takes long, and is heard the same way. The names of
    its drugs were learnt before; tests/commands/test_learning.py learns one.
    """
    one = Hospital(tmp_path, whole=True)
    monkeypatch.setenv("XDG_CACHE_HOME", str(one.box / "var/cache"))
    store(dict.fromkeys(NOT_RESPELT, ()))
    bring_some(one.source / "assistant" / "fitting")

    done = one.install("--site", SITE, environment=Path(sys.prefix))

    assert done.returncode == 0, done.stderr
    assert "Heard by" in done.stdout
    assert "Learnt" not in done.stdout
    assert (one.box / "opt/spoken-brief/now/assistant").is_dir()
