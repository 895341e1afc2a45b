"""A rehearsal needs no network and asks for none."""

import subprocess
import sys
from pathlib import Path

import pytest

from tests.needs import need

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
SHORT = ROOT / "configs" / "rehearsals" / "short.yaml"
REHEARSE = [sys.executable, "-m", "assistant", "rehearse", str(SHORT), "--cases"]
CONNECT = """
import socket
socket.create_connection(("192.0.2.1", 80), timeout=1)  # TEST-NET-1 of RFC 5737
"""
GUARD = '''
"""Python runs this before anything else: no socket of the internet can be made."""

import socket


class Refusing(socket.socket):
    def __init__(self, family=-1, type=-1, proto=-1, fileno=None):
        if fileno is None and family != socket.AF_UNIX:
            raise PermissionError("this process may not use the network")
        super().__init__(family, type, proto, fileno)


def refuse(*_, **__):
    raise PermissionError("this process may not use the network")


socket.socket = Refusing
socket.getaddrinfo = socket.create_connection = refuse
'''


@pytest.fixture
def cut_off() -> list[str]:
    """A prefix that runs a command in a network namespace of its own, without any interface."""
    need("util-linux")
    for prefix in (["unshare", "--net"], ["unshare", "--map-root-user", "--net"]):
        tried = subprocess.run([*prefix, "true"], check=False, capture_output=True, text=True)
        if tried.returncode == 0:
            return prefix
    pytest.skip(f"the kernel lets us make no network namespace: {tried.stderr.strip()}")


def run(command: list[str], env: dict[str, str]) -> subprocess.CompletedProcess[str]:
    return subprocess.run(command, check=False, capture_output=True, text=True, cwd=ROOT, env=env)


def test_it_runs_where_there_is_no_network(
    tmp_path: Path, cut_off: list[str], plain_env: dict[str, str]
) -> None:
    """In a network namespace without an interface the whole rehearsal ends as expected."""
    cannot = run([*cut_off, sys.executable, "-c", CONNECT], plain_env)
    rehearsed = run([*cut_off, *REHEARSE, str(tmp_path)], plain_env)

    assert "unreachable" in cannot.stderr
    assert (rehearsed.returncode, rehearsed.stderr) == (0, "")


def test_it_asks_for_no_network(tmp_path: Path, plain_env: dict[str, str]) -> None:
    """With every socket of the internet refused, in the children too, it ends as expected."""
    (tmp_path / "sitecustomize.py").write_text(GUARD, encoding="utf-8")
    guarded = {**plain_env, "PYTHONPATH": str(tmp_path)}

    cannot = run([sys.executable, "-c", CONNECT], guarded)
    rehearsed = run([*REHEARSE, str(tmp_path / "cases")], guarded)

    assert "may not use the network" in cannot.stderr
    assert (rehearsed.returncode, rehearsed.stderr) == (0, "")
