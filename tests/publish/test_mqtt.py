"""Retained messages through a real broker: kept for whoever comes later, with passwords, over TLS."""

import gc
import json
import socket
import ssl
import sys

import pytest
import trustme
from pwdlib import PasswordHash
from pwdlib.hashers.argon2 import Argon2Hasher

from scheduler.errors import RillbookError
from scheduler.garden.plan import MqttPlan
from scheduler.publish.mqtt import mqtt_messages, publish_mqtt
from scheduler.publish.timetable import timetable_json
from tests.publish.broker import nobody_at, retained, running_broker
from tests.publish.tables import table


def test_messages_are_kept_for_whoever_comes_later():
    with running_broker() as port:
        plan = MqttPlan("127.0.0.1", port, "garden/water")
        publish_mqtt(table(), plan)
        publish_mqtt(table(minutes=60), plan)
        seen = retained(port, 3)
    assert set(seen) == {"garden/water/table", "garden/water/outlet/1", "garden/water/outlet/2"}
    assert all(kept for _, kept in seen.values())
    assert seen["garden/water/table"][0] == timetable_json(table(minutes=60))
    zone = json.loads(seen["garden/water/outlet/1"][0])
    assert zone["run_time_min"] == 60
    assert "opens no valve" in zone["advice"]


def test_topics_hold_no_names():
    assert set(mqtt_messages(table(zone="a/b+#"), "t")) == {"t/table", "t/outlet/1", "t/outlet/2"}


def test_password(tmp_path):
    users = tmp_path / "users"
    users.write_text(f"gardener:{PasswordHash((Argon2Hasher(),)).hash('right one')}\n", encoding="utf-8")
    with running_broker(password_file=users) as port:
        plan = MqttPlan("127.0.0.1", port, "garden", user="gardener")
        publish_mqtt(table(), plan, password="right one")
        with pytest.raises(RillbookError, match="refused") as refused:
            publish_mqtt(table(), plan, password="wrong one")
    assert "wrong one" not in str(refused.value)


@pytest.fixture(scope="module")
def authority():
    return trustme.CA()


@pytest.fixture
def certificate(tmp_path, authority):
    path = tmp_path / "broker.pem"
    authority.issue_cert("127.0.0.1").private_key_and_cert_chain_pem.write_to_path(path)
    return path


def test_tls(certificate, authority):
    trusting = ssl.create_default_context()
    authority.configure_trust(trusting)
    with running_broker(certificate=certificate) as port:
        publish_mqtt(table(), MqttPlan("127.0.0.1", port, "garden", tls=True), context=trusting)


# The client library leaves the socket of a handshake that failed to the garbage collector.
@pytest.mark.filterwarnings(
    "ignore:Exception ignored in. <ssl.SSLSocket:pytest.PytestUnraisableExceptionWarning"
)
def test_stranger_over_tls(certificate):
    with running_broker(certificate=certificate) as port:
        with pytest.raises(RillbookError, match="cannot be reached"):
            publish_mqtt(table(), MqttPlan("127.0.0.1", port, "garden", tls=True))
        gc.collect()


def test_nobody_there():
    with (
        nobody_at() as port,
        pytest.raises(RillbookError, match=f"broker 127.0.0.1:{port}: cannot be reached"),
    ):
        publish_mqtt(table(), MqttPlan("127.0.0.1", port, "garden"))


def test_somebody_there_who_says_nothing():
    with socket.create_server(("127.0.0.1", 0)) as listening:
        plan = MqttPlan("127.0.0.1", listening.getsockname()[1], "garden")
        with pytest.raises(RillbookError, match="no answer within 0 s"):
            publish_mqtt(table(), plan, patience=0.3)


def test_extra_that_is_not_installed(monkeypatch):
    monkeypatch.setitem(sys.modules, "paho.mqtt.client", None)
    with pytest.raises(RillbookError, match=r"rillbook\[mqtt\]"):
        publish_mqtt(table(), MqttPlan("127.0.0.1", 1883, "garden"))
