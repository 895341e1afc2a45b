"""Serves the page: four addresses, to be read only, to this machine only."""

import json
import logging
import os
from collections.abc import Callable, Iterable
from dataclasses import asdict
from html import escape
from pathlib import Path
from string import Template
from threading import Lock
from typing import Any

from assistant.clock import Clock
from assistant.errors import BadInput
from assistant.glance.case_reader import CaseReader
from assistant.glance.settings import LOOPBACK, GlanceSettings
from assistant.glance.view import View, case_view, fault_view, idle_view
from assistant.glance.watcher_line import SaturationListener
from assistant.site.site import Site

PAGE = Path(__file__).with_name("page")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; img-src data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("X-Frame-Options", "DENY"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cache-Control", "no-store"),
)
Environ = dict[str, Any]
StartResponse = Callable[[str, list[tuple[str, str]]], Any]


class Glance:
    """What is to be shown now, worked out anew for each request."""

    def __init__(
        self,
        site: Site,
        settings: GlanceSettings,
        reader: CaseReader,
        listener: SaturationListener,
        clock: Clock,
    ) -> None:
        self._site = site
        self._words = settings.words
        self._reader = reader
        self._listener = listener
        self._clock = clock
        self._one_at_a_time = Lock()

    def view(self) -> View:
        """The page at this moment."""
        with self._one_at_a_time:
            now_s = self._clock.now_s()
            seen = self._listener.saturation(now_s)
            listened = self._reader.listened()
            try:
                case = self._reader.case()
            except BadInput:
                return fault_view(self._words, seen)
            if case is None:
                return idle_view(self._site, self._words, seen, listened=listened)
            return case_view(case, self._words, seen, now_s, listened=listened)


class Application:
    """The WSGI application (PEP 3333)."""

    def __init__(
        self, settings: GlanceSettings, view: Callable[[], View], language: str = "en"
    ) -> None:
        """`language` is that of the words, a BCP 47 tag, for the browser's choice of letters."""
        # A foreign page whose name was made to point here (DNS rebinding) sends its own host name.
        places = (LOOPBACK, "localhost")
        self._hosts = (
            {f"{place}:{settings.port}" for place in places} if settings.port else {*places}
        )
        self._view = view
        filled = {"old_after_s": f"{settings.old_after_s:g}", "language": language}
        filled |= {name: escape(words) for name, words in settings.words.model_dump().items()}
        self._files = {
            "/": ("text/html", _page("glance.html", filled)),
            "/glance.css": ("text/css", _page("glance.css", filled)),
            "/glance.js": ("text/javascript", (PAGE / "glance.js").read_bytes()),
        }

    def __call__(self, environ: Environ, start: StartResponse) -> Iterable[bytes]:
        """Answer one request."""
        status, kind, body = self._answer(environ)
        length = ("Content-Length", str(len(body)))
        start(status, [("Content-Type", f"{kind}; charset=utf-8"), length, *HEADERS])
        return [] if environ["REQUEST_METHOD"] == "HEAD" else [body]

    def _answer(self, environ: Environ) -> tuple[str, str, bytes]:
        plain = "text/plain"
        if environ.get("HTTP_HOST", "") not in self._hosts:
            return "421 Misdirected Request", plain, b"Not the name of this page.\n"
        if environ["REQUEST_METHOD"] not in ("GET", "HEAD"):
            return "405 Method Not Allowed", plain, b"Only to be read.\n"
        path = environ.get("PATH_INFO", "")
        if path == "/now.json":
            return "200 OK", "application/json", json.dumps(_plain(self._view())).encode()
        if path in self._files:
            return "200 OK", *self._files[path]
        return "404 Not Found", plain, b"There is no such page.\n"


def serve(application: Application, settings: GlanceSettings) -> Any:
    """The server, bound and not yet running: its `run()` serves, its `close()` ends.

    Raises BadInput when waitress is not installed, or the address is taken.
    """
    try:
        import waitress
    except ModuleNotFoundError as fault:
        raise BadInput(
            "The glance display needs waitress: found none; allowed: the extra [glance]."
        ) from fault
    place: dict[str, Any] = (
        {"host": LOOPBACK, "port": settings.port}
        if settings.port
        else {"unix_socket": settings.socket, "unix_socket_perms": "600"}
    )
    # It would tell of every moment at which both threads are busy, for weeks.
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)
    umask = os.umask(0o177)  # so that the socket never exists with another mode
    try:
        return waitress.create_server(
            application,
            **place,
            threads=2,
            ident=None,
            connection_limit=16,
            channel_timeout=10,
            max_request_body_size=1024,
            max_request_header_size=8192,
        )
    except OSError as fault:
        where = settings.socket or f"port {settings.port}"
        raise BadInput(
            f"{where}: found an address that is not free ({fault.strerror}); allowed: a free one."
        ) from fault
    finally:
        os.umask(umask)


def _page(name: str, filled: dict[str, str]) -> bytes:
    return Template((PAGE / name).read_text(encoding="utf-8")).substitute(filled).encode()


def _plain(view: View) -> dict[str, Any]:
    shown = asdict(view)
    shown["headline"]["mark"] = view.headline.mark.value
    return shown
