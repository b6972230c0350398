"""Does the tap carry it: all valves of a zone, all zones, house quiet and busy; a barrel's low head. Pure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from scheduler.garden.plan import Garden
from scheduler.garden.units import parse_quantity
from scheduler.layout.findings import Finding, Level, levelled
from scheduler.layout.solved import House

__all__ = ["LOW_HEAD", "capacity_findings", "fitting_groups", "low_head_finding"]

#: Static pressure below which a source counts as a barrel's; a judgement without a source.
LOW_HEAD = "5 psi"
CAPACITY_SOURCE = "bucket test times the share that the plan trusts; printed or computed flow of open beds"


def fitting_groups(flows: Sequence[tuple[str, float]], limit: float) -> tuple[tuple[str, ...], ...]:
    """Return beds in groups that each draw at most `limit` [L/h] together; few groups, the largest first.

    A bed that is too much by itself stands alone. Largest first into the first group with room: at most
    11/9 of the fewest groups and one more.
    """
    groups: list[tuple[list[str], float]] = []
    for name, flow in sorted(flows, key=lambda one: -one[1]):
        place = next((at for at, (_, sum_) in enumerate(groups) if sum_ + flow <= limit), None)
        if place is None:
            groups.append(([name], flow))
        else:
            names, before = groups[place]
            groups[place] = ([*names, name], before + flow)
    return tuple(tuple(names) for names, _ in groups)


def capacity_findings(garden: Garden, flows: Mapping[str, float]) -> Iterator[Finding]:
    """Yield the capacity of every zone and of all at once; `flows` is bed -> what it would draw [L/h]."""
    source = garden.water_source
    buckets: list[tuple[House, float | None]] = [
        ("quiet", source.flow),
        ("busy", source.flow_house_busy),
    ]
    alone = garden.timer.one_zone_at_a_time
    for house, bucket in buckets:
        if bucket is None:
            continue
        limit = bucket * source.usable_share
        for zone in garden.zones:
            own = [(bed.name, flows[bed.name]) for bed in garden.beds_of(zone.name)]
            beyond: Level = "wrong" if house == "quiet" else "look"
            if own:
                yield _capacity(zone.name, own, limit, house=house, beyond=beyond)
        if len(garden.zones) > 1:
            beyond = "fine" if alone else "wrong" if house == "quiet" else "look"
            yield _capacity("all zones at once", list(flows.items()), limit, house=house, beyond=beyond)


def _capacity(
    where: str, flows: Sequence[tuple[str, float]], limit: float, *, house: House, beyond: Level
) -> Finding:
    groups = fitting_groups(flows, limit)
    told = "; ".join(" + ".join(group) for group in groups)
    if beyond == "fine":
        advice = f"the timer runs one zone at a time; by hand, open together only: {told}"
    elif len(flows) == 1:
        advice = "water this bed with fewer or smaller emitters, or find a tap that gives more"
    else:
        advice = f"open fewer valves at a time; groups that fit: {told}"
        if any(flow > limit for _, flow in flows):
            advice += "; a bed that is too much alone needs fewer or smaller emitters"
    if house == "busy":
        advice += "; or water while the house draws nothing"
    return levelled(
        f"tap, house {house}",
        where,
        value=sum(flow for _, flow in flows),
        limit=limit,
        bound="at most",
        dimension="flow",
        source=CAPACITY_SOURCE,
        advice=advice,
        beyond=beyond,
    )


def low_head_finding(garden: Garden) -> Finding:
    """Return whether the source has the pressure of a tap, or that of a barrel, or none was measured."""
    static = garden.water_source.static_pressure
    source = "judgement: timers, regulators and most emitters are made for more"
    if static is None:
        return Finding(
            "pressure at rest",
            "tap",
            "look",
            None,
            parse_quantity(LOW_HEAD, "pressure"),
            "at least",
            "pressure",
            source,
            "put a gauge on the closed tap and write static_pressure into [water_source]; without it no "
            "pressure of the layout can be reckoned",
        )
    return levelled(
        "pressure at rest",
        "tap",
        value=static,
        limit=parse_quantity(LOW_HEAD, "pressure"),
        bound="at least",
        dimension="pressure",
        source=source,
        advice="a barrel: leave out the regulator, take a timer and a filter made for it and emitters that "
        "do not compensate, keep lines short, and raise the barrel",
    )
