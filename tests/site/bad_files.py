"""Kinds of bad files: what may lie in the place of a site's file, and what may be wrong in it.

Run as a script, it makes all of them in a folder, reads each, and writes what came of it: in a
process of its own, so that the most memory that any of them takes can be told.
"""

import json
import os
import re
import socket
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import NamedTuple

from tests.site.bad_values import VALUES

ROOT = Path(__file__).parents[2]
TARN_HOLLOW = ROOT / "configs" / "tarn-hollow"
SMALL = {
    "hearing.yaml": "engine: closed\n",
    "panel.yaml": "pedal_gpio: 17\nlight_gpio: 27\n",
    "record.yaml": "keep_days: 90\n",
    "glance.yaml": "port: 8093\nscreen_width_mm: 500\nread_from_m: 3\n",
    "signature.yaml": f"sha256: {'a0' * 32}\nsigned:\n  - {{role: pharmacist, on: '2026-03-01'}}\n",
}
"""Good ones, of the files that the example site does not have."""
FILES = ("brief", "formulary", "figures", "oximeter", "wording", *(n[:-5] for n in SMALL))


class Bad(NamedTuple):
    """What is told of a file."""

    file: str
    sentences: list[str]
    """Without the path at their beginnings; of an accepted file none."""
    took_s: float


def _socket(at: Path) -> None:
    """Bound with a short name, as a socket's path may not be long."""
    before = Path.cwd()
    os.chdir(at.parent)
    with socket.socket(socket.AF_UNIX) as one:
        one.bind(at.name)
    os.chdir(before)


PLACES: dict[str, tuple[Callable[[Path], object], str]] = {
    "a folder": (Path.mkdir, "a folder"),
    "a pipe": (os.mkfifo, "a pipe"),
    "a socket": (_socket, "a socket"),
    "a device without end": (lambda at: at.symlink_to("/dev/zero"), "a device"),
    "a device without content": (lambda at: at.symlink_to("/dev/null"), "a device"),
    "a link to itself": (lambda at: at.symlink_to(at.name), "a link that leads to itself"),
    "a link to nothing": (lambda at: at.symlink_to("none"), "a link that leads nowhere"),
    "a file that fails": (lambda at: at.symlink_to("/proc/self/mem"), "cannot be read"),
}
"""What is put there, and what must be found."""

Change = Callable[[str], str | bytes]


def _first_key(text: str) -> str:
    return next(line for line in text.splitlines() if line[:1].isalpha()).split(":")[0]


def _with(more: str) -> Change:
    return lambda text: f"{text}\n{more}\n"


def _with_byte(byte: bytes) -> Change:
    return lambda text: text.encode() + b"# " + byte


def _instead(whole: str | bytes) -> Change:
    return lambda _: whole


FORMS: dict[str, tuple[Change, str]] = {
    "empty": (_instead(""), "nothing"),
    "blank lines": (_instead("\n  \n\n"), "nothing"),
    "only comments": (_instead("# nothing\n# yet\n"), "nothing"),
    "only the marks of a document": (_instead("---\n...\n"), "nothing"),
    "a null": (_instead("~\n"), "nothing"),
    "a list": (_instead("- a\n- b\n"), "['a', 'b']"),
    "a word": (_instead("yes\n"), "'yes'"),
    "a number": (_instead("17\n"), "17"),
    "a date": (_instead("2026-03-01\n"), "'2026-03-01'"),
    "another kind of table": (_instead("drug;dose\nketamine;1\n"), "'drug;dose ketamine;1'"),
    "a web page": (_instead("<html>\n<body>404</body>\n</html>\n"), "'<html> "),
    "two documents": (lambda text: f"{text}\n---\n{text}", "a second document"),
    "a quote left open": (_with('x: "open'), "a quote that is never closed"),
    "a list left open": (_with("x: [1, 2"), "a list that is never closed"),
    "braces left open": (_with("x: {a: 1"), "keys in braces that are never closed"),
    "a bracket too many": (_with("x: ]"), "no value"),
    "a tab": (_with("x:\n\ty: 1"), "a tab"),
    "a key that is too deep": (_with("x: 1\n   y: 2"), "a colon where no key can stand"),
    "a colon in a value": (_with("x: a: b"), "a colon where no key can stand"),
    "a word alone": (_with("x: 1\nword\ny: 2"), "words without a colon"),
    "a list among keys": (_with("x: 1\n- y"), "a line that is no key"),
    "an at sign": (_with("x: @a"), "a value that begins with @"),
    "a backtick": (_with("x: `a`"), "a value that begins with `"),
    "a bad escape": (_with('x: "C:\\Users"'), "a backslash"),
    "half of a pair": (_with('"\\ud800": b'), "a backslash"),
    "an unknown key": (_with("zzz: 1"), "an unknown key"),
    "a key of another script": (_with("이름: 1"), "an unknown key"),
    "a key on two lines": (_with('"a\\nb": 1'), "an unknown key"),
    "an empty key": (_with("'': 1"), "an unknown key"),
    "a long key": (_with(f"{'k' * 900}: 1"), "an unknown key"),
    "a merged key": (_with("<<: {a: b}"), "an unknown key"),
    "a key twice": (lambda text: f"{text}\n{_first_key(text)}: 1\n", "the same key twice"),
    "a number as a key": (_with("17: 1"), "17 as a key"),
    "no key": (_with("~: 1"), "~ as a key"),
    "a list as a key": (_with("? [a]\n: 1"), "a list or keys as a key"),
    "an anchor": (_with("x: &a b"), "the anchor &a"),
    "an alias": (_with("x: *a"), "the alias *a"),
    "aliases of aliases": (
        _instead("a: &a [x, x]\n" + "".join(f"b{n}: &b{n} [*a, *a]\n" for n in range(30))),
        "the anchor &a",
    ),
    "a tag": (_with("x: !!python/object/apply:os.system [ls]"), "the tag !!python"),
    "a long tag": (_with(f"x: !{'a' * 5000} b"), "the tag !aaa"),
    "a directive": (lambda text: f"%YAML 1.1\n---\n{text}", "a line that begins with %"),
    "a broken directive": (lambda text: f"%{text}", "a line that begins with %"),
    "endless lists": (_instead("x: " + "[" * 500_000), "within one another"),
    "endless braces": (_instead("x: " + "{a: " * 100_000), "within one another"),
    "lists in lists": (_instead(f"x: {'[' * 300}{']' * 300}"), "within one another"),
    "keys in keys": (_instead("\n".join(f"{' ' * n}a:" for n in range(900))), "within one another"),
    "too long": (lambda text: text + "#" * 1_000_001, "more than 1000 kB"),
    "a long list": (_instead(f"x: [{'1, ' * 300_000}1]"), "more than 20000 keys and values"),
    "many keys": (
        _instead("".join(f"k{n}: 1\n" for n in range(60_000))),
        "more than 20000 keys and values",
    ),
    "a long number": (_with(f"x: {'1' * 5000}"), "a number of 5000 digits"),
    "a long fraction": (_with(f"x: {'9' * 500}.0"), "a number of 502 digits"),
    "a zero byte": (_with("x: a\0b"), "U+0000"),
    "a bell": (_with("x: a\ab"), "U+0007"),
    "a space that does not break": (_with("x:\n\N{NO-BREAK SPACE} y: 1"), "U+00A0 (no-break"),
    "a space of no width": (_with("na\N{ZERO WIDTH SPACE}me: 1"), "U+200B (zero width space)"),
    "letters that run backwards": (_with("na\N{RIGHT-TO-LEFT OVERRIDE}me: 1"), "U+202E"),
    "another end of a line": (_with("x: a\N{LINE SEPARATOR}b: c"), "U+2028"),
    "UTF-16": (lambda text: text.encode("utf-16"), "UTF-16"),
    "UTF-32": (lambda text: text.encode("utf-32"), "UTF-32"),
    "letters of an old table": (_with_byte(b"\xe9"), "no UTF-8"),
    "a packed file": (_instead(b"PK\x03\x04" + bytes(range(256)) * 9), "a packed file"),
    "a picture": (_instead(b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 9), "no UTF-8"),
    "a file merged by halves": (lambda text: f"<<<<<<< a\n{text}=======\n{text}>>>>>>> b\n", ""),
}  # fmt: skip
"""What becomes of a good text, and what must be found."""


def good_text(file: str) -> str:
    """A file of a site as it should be."""
    name = f"{file}.yaml"
    return SMALL[name] if name in SMALL else (TARN_HOLLOW / name).read_text(encoding="utf-8")


def bad_files(folder: Path) -> Iterator[tuple[str, str, Path]]:
    """Make each kind, of each file: its name, the file, and the site's folder it lies in."""
    kinds: list[tuple[str, str, Callable[[Path], object]]] = []
    for file in FILES:
        text = good_text(file)
        kinds += [(what, file, put) for what, (put, _) in PLACES.items()]
        for what, (change, _) in FORMS.items():
            kinds.append((what, file, _writer(change(text))))
    for what, (file, old, new, *_) in VALUES.items():
        spoilt, times = re.subn(old, lambda _, new=new: new, good_text(file), count=1, flags=re.M)
        assert times == 1, f"{file}.yaml has no {old!r} any more"
        kinds.append((what, file, _writer(spoilt)))
    for number, (what, file, put) in enumerate(kinds):
        site = folder / str(number)
        site.mkdir()
        put(site / f"{file}.yaml")
        yield what, file, site


def _writer(content: str | bytes) -> Callable[[Path], object]:
    written = content if isinstance(content, bytes) else content.encode()
    return lambda at: at.write_bytes(written)


def main(folder: Path) -> None:
    """Read all of them, and write what was told of each and the most memory that it took."""
    from assistant.errors import BadInput
    from assistant.glance.settings import read_glance
    from assistant.hearing.settings import read_hearing
    from assistant.journal.settings import read_record_settings
    from assistant.panel.settings import read_panel
    from assistant.site import site as whole
    from assistant.site.signature import read_signature

    read: dict[str, Callable[[Path], object]] = {
        "hearing": read_hearing,
        "panel": read_panel,
        "record": read_record_settings,
        "glance": read_glance,
        "signature": read_signature,
        "brief": lambda site: whole.read_yaml(site / "brief.yaml", whole.Brief),
        "formulary": lambda site: whole.read_formulary(site / "formulary.yaml"),
        "figures": lambda site: whole.read_figures(site / "figures.yaml"),
        "oximeter": lambda site: whole.read_yaml(site / "oximeter.yaml", whole.OximeterSettings),
        "wording": lambda site: whole.read_yaml(site / "wording.yaml", whole.Wording),
    }
    told: dict[str, list[Bad]] = {}
    for what, file, site in bad_files(folder):
        began_s, sentences = time.monotonic(), []
        try:
            read[file](site)
        except BadInput as fault:
            at = str(site / f"{file}.yaml")
            sentences = [one.removeprefix(at) for one in str(fault).splitlines()]
        told.setdefault(what, []).append(Bad(file, sentences, time.monotonic() - began_s))
    # Not of getrusage, which in a new process begins with the most that its parent ever had.
    status = Path("/proc/self/status").read_text("utf-8")
    most_kb = int(status.split("VmHWM:")[1].split()[0])
    json.dump({"most_kb": most_kb, "told": told}, sys.stdout)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
