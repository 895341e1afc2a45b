"""How long reading a bad file takes, and how much memory: `python -m tests.bench.bad_files`.

Each kind of tests/site/bad_files.py, of each of a site's files, read in one process. Prints the
slowest, the whole and the most memory, each as a share of what is allowed: 2 s and 300 MB.
"""

import json
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

ALLOWED_S, ALLOWED_KB = 2.0, 300_000
ROOT = Path(__file__).parents[2]


def main() -> None:
    """Make them, have them read, and print."""
    with TemporaryDirectory() as folder:
        done = subprocess.run(
            [sys.executable, "-m", "tests.site.bad_files", folder],
            capture_output=True,
            check=True,
            cwd=ROOT,
        )
    read = json.loads(done.stdout)
    took = [
        (took_s, what, file) for what, files in read["told"].items() for file, _, took_s in files
    ]
    one_each = sum(
        len(sentences) == 1 for files in read["told"].values() for _, sentences, _ in files
    )
    print(f"{len(read['told'])} kinds, {len(took)} files; one sentence each: {one_each}")
    for took_s, what, file in sorted(took, reverse=True)[:5]:
        print(f"{took_s / ALLOWED_S:.3f} of the time allowed: {what}, as {file}.yaml")
    print(f"{sum(one[0] for one in took) / len(took) / ALLOWED_S:.4f} on average")
    print(f"{read['most_kb'] / ALLOWED_KB:.2f} of the memory allowed")


if __name__ == "__main__":
    main()
