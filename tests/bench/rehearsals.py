"""Every shipped rehearsal once, from sound to sound or in text: does each end as it is written?

    python -m tests.bench.rehearsals [NAME …]

Names are those of configs/rehearsals, without their endings; without any all are played, one after
the other, each in a process of its own. It takes some minutes. Those of a site whose recogniser is
not there are left out, and said to be. It ends with 1 when one did not end as written.
"""

import subprocess
import sys
import tempfile
from pathlib import Path

REHEARSALS = Path(__file__).parents[2] / "configs" / "rehearsals"
SITES = {"skerry-point": "skerry-point", "angae-gogae": "angae-gogae"}
"""Those that are not played at Tarn Hollow."""
BAD_INPUT = 2


def command(path: Path, cases: Path) -> list[str]:
    """How it is played."""
    site = REHEARSALS.parent / SITES.get(path.stem, "tarn-hollow")
    how = ["--text", str(path)] if path.suffix == ".txt" else [str(path)]
    words = [sys.executable, "-m", "assistant", "rehearse", *how, "--site", str(site)]
    return [*words, "--cases", str(cases)]


def main() -> int:
    """Play them, a line each."""
    wanted = set(sys.argv[1:])
    paths = [one for one in sorted(REHEARSALS.iterdir()) if not wanted or one.stem in wanted]
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        for path in paths:
            done = subprocess.run(
                command(path, Path(folder) / path.stem), capture_output=True, text=True, check=False
            )
            faults = [one for one in done.stdout.splitlines() if one.startswith("Not as expected")]
            ended = {0: "as written", BAD_INPUT: "left out"}.get(done.returncode, "NOT as written")
            failed += ended.startswith("NOT")
            print(f"{path.name}: {ended}", *faults, *done.stderr.splitlines()[:2], sep="\n  ")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
