"""A message broker of its own for a test, in a thread, on a free port of this machine."""

import asyncio
import socket
import threading
from contextlib import contextmanager

from amqtt.broker import Broker
from paho.mqtt.client import Client
from paho.mqtt.enums import CallbackAPIVersion

__all__ = ["PATIENCE", "nobody_at", "retained", "running_broker"]

#: How long a test waits for what must come [s]: far longer than a slow, busy machine takes.
PATIENCE = 60

PLUGINS = "amqtt.plugins.authentication"


@contextmanager
def nobody_at():
    """Yield a port that nobody listens on, and that no other program is given meanwhile."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        yield taken.getsockname()[1]


@contextmanager
def running_broker(*, password_file=None, certificate=None):
    """Run a broker and yield its port; with a password file only its users may come in."""
    listener = {"type": "tcp", "bind": "127.0.0.1:0"}
    if certificate is not None:
        listener |= {"ssl": True, "certfile": certificate, "keyfile": certificate}
    if password_file is None:
        plugins = {f"{PLUGINS}.AnonymousAuthPlugin": {"allow_anonymous": True}}
    else:
        plugins = {f"{PLUGINS}.FileAuthPlugin": {"password_file": password_file}}
    ready, loop = threading.Event(), asyncio.new_event_loop()
    brokers = []

    async def start():
        broker = Broker({"listeners": {"default": listener}, "plugins": plugins}, loop=loop)
        await broker.start()
        brokers.append(broker)
        ready.set()

    def run():
        asyncio.set_event_loop(loop)
        loop.run_until_complete(start())
        loop.run_forever()

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert ready.wait(PATIENCE)
    (listening,) = brokers[0]._servers["default"].instance.sockets
    try:
        yield listening.getsockname()[1]
    finally:
        asyncio.run_coroutine_threadsafe(brokers[0].shutdown(), loop).result(PATIENCE)
        loop.call_soon_threadsafe(loop.stop)
        thread.join(PATIENCE)
        loop.close()


def retained(port, expected, *, topic="#"):
    """Return topic -> (message, whether it was kept) as a client that comes later gets them."""
    seen, enough = {}, threading.Event()

    def on_message(_client, _data, message):
        seen[message.topic] = (message.payload.decode(), message.retain)
        if len(seen) >= expected:
            enough.set()

    client = Client(CallbackAPIVersion.VERSION2)
    client.on_connect = lambda *_: client.subscribe(topic, qos=1)
    client.on_message = on_message
    client.connect("127.0.0.1", port)
    client.loop_start()
    enough.wait(PATIENCE)
    client.disconnect()
    client.loop_stop()
    return seen
