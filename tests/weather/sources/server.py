"""A small web server on this machine that answers as it is told, faults included."""

from __future__ import annotations

import sys
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from types import TracebackType

JSON = "application/json"


@dataclass(frozen=True)
class Answer:
    """What the server sends: `promised` bytes may be more than it has; `silent` waits before the head."""

    body: str | bytes = "{}"
    status: int = 200
    content_type: str = JSON
    headers: Mapping[str, str] = field(default_factory=dict)
    promised: int | None = None
    silent: bool = False
    trickle: bool = False


class _QuietServer(ThreadingHTTPServer):
    daemon_threads = True

    def handle_error(self, request: object, client_address: object) -> None:
        """Say nothing where a client has left, as tests make it do; tell a fault of the server itself."""
        if not isinstance(sys.exc_info()[1], ConnectionError):
            super().handle_error(request, client_address)


class LocalServer:
    """Answers each path with its answers in turn, the last one for ever; keeps what was asked."""

    def __init__(self) -> None:
        self.answers: dict[str, list[Answer]] = {}
        self.asked: list[tuple[str, dict[str, str]]] = []
        self.released = threading.Event()
        self._server = _QuietServer(("127.0.0.1", 0), self._handler())
        self._thread = threading.Thread(target=self._server.serve_forever, args=(0.01,), daemon=True)

    def __enter__(self) -> LocalServer:
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.released.set()
        self._server.shutdown()
        self._server.server_close()
        self._thread.join()

    @property
    def base(self) -> str:
        return f"http://127.0.0.1:{self._server.server_address[1]}"

    def will(self, path: str, *answers: Answer) -> str:
        """Answer a path with these, and return its address."""
        self.answers[path] = list(answers)
        return self.base + path

    def _answer(self, path: str) -> Answer:
        waiting = self.answers.get(path.partition("?")[0])
        if not waiting:
            return Answer(status=404)
        return waiting.pop(0) if len(waiting) > 1 else waiting[0]

    def _handler(outer) -> type[BaseHTTPRequestHandler]:  # noqa: N805 - the handler has a self of its own
        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_GET(self) -> None:  # noqa: N802 - the library calls it by this name
                outer.asked.append((self.path, dict(self.headers.items())))
                answer = outer._answer(self.path)
                if answer.silent:
                    outer.released.wait(60)
                    self.close_connection = True
                    return
                body = answer.body.encode() if isinstance(answer.body, str) else answer.body
                self.send_response_only(answer.status)
                for name, value in answer.headers.items():
                    self.send_header(name, value)
                if answer.content_type and "Content-Type" not in answer.headers:
                    self.send_header("Content-Type", answer.content_type)
                if answer.status != 304:
                    self.send_header("Content-Length", str(answer.promised or len(body)))
                self.end_headers()
                self._send(body, answer)

            def _send(self, body: bytes, answer: Answer) -> None:
                try:
                    if answer.trickle:
                        for byte in body:
                            self.wfile.write(bytes([byte]))
                            if outer.released.wait(0.01):
                                break
                    elif answer.status != 304:
                        self.wfile.write(body)
                except OSError:
                    pass
                if answer.promised or answer.trickle:
                    self.close_connection = True

            def log_message(self, *args: object) -> None:
                pass

        return Handler
