"""Receivers of notices on this machine: a mail server and a web server, each in a thread."""

import threading
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, HTTPServer

from aiosmtpd.controller import Controller
from aiosmtpd.handlers import Message
from aiosmtpd.smtp import AuthResult

from tests.publish.broker import PATIENCE

__all__ = ["mail_server", "web_server"]


class _Kept(Message):
    """Keeps each mail."""

    def __init__(self):
        super().__init__()
        self.mails = []

    def handle_message(self, message):
        self.mails.append(message)


class _Controller(Controller):
    """Listens on a port that the system picks."""

    def _trigger_server(self):
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


@contextmanager
def mail_server(*, password=None, context=None, implicit=False):
    """Run a mail server; yield its port and the list of mails it took.

    With a password it lets the user ``gardener`` in who knows it; with a TLS context it takes mail only
    encrypted, from the first byte if `implicit`.
    """
    kept = _Kept()

    def authenticate(_server, _session, _envelope, _mechanism, data):
        known = (data.login, data.password) == (b"gardener", password.encode())
        return AuthResult(success=known, handled=False)

    settings = {}
    if password is not None:
        # The server counts only STARTTLS as encrypted, and warns where it must ask without.
        asked = context is not None and not implicit
        settings |= {"authenticator": authenticate, "auth_required": asked, "auth_require_tls": asked}
    if context is not None and not implicit:
        settings |= {"tls_context": context, "require_starttls": True}
    controller = _Controller(
        kept,
        hostname="127.0.0.1",
        port=0,
        ready_timeout=PATIENCE,
        ssl_context=context if implicit else None,
        **settings,
    )
    controller.start()
    try:
        yield controller.port, kept.mails
    finally:
        controller.stop()


@contextmanager
def web_server(*, status=204, headers=None, context=None, wait=None):
    """Run a web server; yield its address and the list of (path, headers, body) that it was sent."""
    taken = []

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self):
            body = self.rfile.read(int(self.headers["Content-Length"]))
            taken.append((self.path, dict(self.headers), body))
            if wait is not None:
                wait.wait(PATIENCE)
            self.send_response(status)
            for name, value in (headers or {}).items():
                self.send_header(name, value)
            self.end_headers()

        def log_message(self, *_arguments):
            pass

    server = HTTPServer(("127.0.0.1", 0), Handler)
    # Handshakes that fail and clients that go away are part of the tests.
    server.handle_error = lambda *_: None
    if context is not None:
        server.socket = context.wrap_socket(server.socket, server_side=True)
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True)
    thread.start()
    scheme = "http" if context is None else "https"
    try:
        yield f"{scheme}://127.0.0.1:{server.server_port}", taken
    finally:
        server.shutdown()
        server.server_close()
        thread.join(PATIENCE)
