"""A rehearsal needs no network and asks for none."""

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[2]
SHORT = ROOT / "configs" / "rehearsals" / "short.yaml"
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


def without_interfaces(command: list[str]) -> list[str]:
    """The command in a network namespace of its own, where the kernel lets us make one."""
    for prefix in (["unshare", "--net"], ["unshare", "--map-root-user", "--net"]):
        if subprocess.run([*prefix, "true"], check=False, capture_output=True).returncode == 0:
            return [*prefix, *command]
    return command


@pytest.mark.needs("util-linux")
def test_it_needs_no_network_and_asks_for_none(tmp_path: Path, plain_env: dict[str, str]) -> None:
    """With no interface and every socket of the internet refused, it ends as expected."""
    (tmp_path / "sitecustomize.py").write_text(GUARD, encoding="utf-8")
    guarded = {**plain_env, "PYTHONPATH": str(tmp_path)}

    def run(*command: str) -> subprocess.CompletedProcess[str]:
        order = without_interfaces([sys.executable, *command])
        return subprocess.run(
            order, check=False, capture_output=True, text=True, cwd=ROOT, env=guarded
        )

    cannot = run("-c", CONNECT)
    rehearsed = run("-m", "assistant", "rehearse", str(SHORT), "--cases", str(tmp_path / "cases"))

    assert "may not use the network" in cannot.stderr
    assert (rehearsed.returncode, rehearsed.stderr) == (0, "")
