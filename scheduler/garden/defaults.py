"""Values taken where a plan is silent; each one is told to the person by the notes."""

from __future__ import annotations

from typing import Literal

from scheduler.garden.plan import Planning, Weekday

__all__ = [
    "ALL_DAYS",
    "BROKER_PORT",
    "DAY_CHOICES",
    "LONGEST_INTERVAL",
    "MAIL_PORT",
    "OPEN_BROKER_PORT",
    "OPEN_MAIL_PORT",
    "PLANNING",
    "SPARE",
    "STAKE_SPACING",
    "USABLE_SHARE",
    "WATER_TEMPERATURE",
]

ALL_DAYS: tuple[Weekday, ...] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
DAY_CHOICES: tuple[Literal["weekdays", "every n days"], ...] = ("weekdays", "every n days")
#: Most days between watering days.
LONGEST_INTERVAL = 7
# Judgements without a source: how careful to be.
PLANNING = Planning(reserve=0.20, forecast_rain=0.50, normal_rain=0.50, bare_soil_coefficient=0.30)
# Common practice, no source: an open bucket has no pressure to work against.
USABLE_SHARE = 0.75
# At which tables of friction are printed [degC].
WATER_TEMPERATURE = 20.0
# Registered ports: mail submission (RFC 6409) and plain SMTP (RFC 5321), MQTT with and without TLS.
MAIL_PORT = 587
OPEN_MAIL_PORT = 25
BROKER_PORT = 8883
OPEN_BROKER_PORT = 1883
# Common practice, no source: share of tube and small parts to spare, and most tube between two stakes [m].
SPARE = 0.10
STAKE_SPACING = 0.9
