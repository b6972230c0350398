"""The timetable as retained MQTT messages: one for the table, one for each outlet of the timer.

Every message is advice, and says so; nothing here commands a valve.
"""

from __future__ import annotations

import ssl
from threading import Event
from typing import TYPE_CHECKING, Any

from scheduler.errors import RillbookError
from scheduler.garden.plan import MqttPlan
from scheduler.publish.table import WeekTable
from scheduler.publish.timetable import timetable_json, zone_json

if TYPE_CHECKING:
    from paho.mqtt.client import Client
    from paho.mqtt.reasoncodes import ReasonCode

__all__ = ["mqtt_messages", "publish_mqtt"]

#: At least once: a broker that restarts must not lose the table.
QOS = 1
PATIENCE = 15.0


def mqtt_messages(table: WeekTable, topic: str) -> dict[str, str]:
    """Return topic -> message: ``<topic>/table``, and ``<topic>/outlet/<number>`` for each zone.

    Numbers of outlets stand in topics since names may hold what a topic may not.
    """
    messages = {f"{topic}/table": timetable_json(table)}
    for zone in table.zones:
        messages[f"{topic}/outlet/{zone.outlet}"] = zone_json(table, zone)
    return messages


def publish_mqtt(
    table: WeekTable,
    plan: MqttPlan,
    *,
    password: str | None = None,
    context: ssl.SSLContext | None = None,
    patience: float = PATIENCE,
) -> None:
    """Hand the table's messages to a broker, to be kept for whoever asks later.

    Parameters
    ----------
    table : WeekTable
    plan : MqttPlan
    password : str or None
    context : ssl.SSLContext or None
        Whom to trust over TLS; None for the authorities that the system trusts.
    patience : float
        Longest wait for the connection, and for the broker's receipts [s].

    Raises
    ------
    RillbookError
        If the extra is not installed, or if the broker cannot be reached, refuses, or sends no receipt.
    """
    client = _client()
    where = f"broker {plan.host}:{plan.port}"
    if plan.user:
        client.username_pw_set(plan.user, password)
    if plan.tls:
        client.tls_set_context(context or ssl.create_default_context())
    client.connect_timeout = patience
    answers: list[ReasonCode] = []
    answered = Event()

    def on_connect(_client: Client, _data: Any, _flags: Any, reason: ReasonCode, _more: Any) -> None:
        answers.append(reason)
        answered.set()

    client.on_connect = on_connect
    try:
        client.connect(plan.host, plan.port)
        client.loop_start()
        if not answered.wait(patience):
            raise RillbookError(f"{where}: no answer within {patience:.0f} s")
        if answers[0].is_failure:
            raise RillbookError(f"{where}: refused ({answers[0]})")
        _send(client, mqtt_messages(table, plan.topic), where=where, patience=patience)
    except (OSError, RuntimeError, ValueError) as fault:
        raise RillbookError(f"{where}: cannot be reached ({_reason(fault)})") from None
    finally:
        client.disconnect()
        client.loop_stop()


def _send(client: Client, messages: dict[str, str], *, where: str, patience: float) -> None:
    """Send messages to be kept, and wait until the broker has told that it has each of them."""
    sent = [client.publish(topic, message, qos=QOS, retain=True) for topic, message in messages.items()]
    for receipt in sent:
        receipt.wait_for_publish(patience)
    if not all(receipt.is_published() for receipt in sent):
        raise RillbookError(
            f"{where}: no receipt within {patience:.0f} s; the timetable may not have arrived"
        )


def _reason(fault: Exception) -> str:
    """Return why in short; the words of the system where it has some."""
    return getattr(fault, "strerror", None) or type(fault).__name__


def _client() -> Client:
    """Return a client with a name that the broker gives it."""
    try:
        from paho.mqtt.client import Client
        from paho.mqtt.enums import CallbackAPIVersion
    except ImportError as fault:
        raise RillbookError(
            'publish > mqtt: needs a package that is not installed; pip install "rillbook[mqtt]"'
        ) from fault
    return Client(CallbackAPIVersion.VERSION2)
