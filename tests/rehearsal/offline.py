"""A process without a network: no interface, and every socket of the internet refused."""

import shutil
import subprocess
from pathlib import Path

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


def guarded(env: dict[str, str], folder: Path) -> dict[str, str]:
    """The environment in which Python refuses such sockets; the guard is written into `folder`."""
    (folder / "sitecustomize.py").write_text(GUARD, encoding="utf-8")
    return {**env, "PYTHONPATH": str(folder)}


def without_interfaces(command: list[str]) -> list[str]:
    """The command in a network namespace of its own, where the kernel lets us make one."""
    for prefix in (["unshare", "--net"], ["unshare", "--map-root-user", "--net"]):
        if shutil.which(prefix[0]) is None:
            break
        if subprocess.run([*prefix, "true"], check=False, capture_output=True).returncode == 0:
            return [*prefix, *command]
    return command
