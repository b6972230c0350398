"""A week's answer as the engine gives it, cut down to what publishing takes; invented."""

from datetime import UTC, date, datetime, timedelta

from scheduler.publish.table import read_table

__all__ = ["COMPUTED", "document", "table"]

COMPUTED = datetime(2026, 6, 15, 2, 10, tzinfo=UTC)


def document(first=date(2026, 6, 15), *, starts=("05:00",), minutes=54, zone="north", days=(0, 3)):
    """Return a week with runs on some days."""
    runs = [
        {
            "date": (first + timedelta(days=day)).isoformat(),
            "zone": zone,
            "start": start,
            "run_time_min": minutes,
            "volume_l": 61.5,
        }
        for day in days
        for start in starts
    ]
    other = {"zone": "sown", "outlet": 2, "days": "no run this week", "starts": None}
    beds = [
        {"bed": "tall bed", "zone": zone, "needs_min": minutes, "gets_min": minutes},
        {"bed": "low bed", "zone": zone, "needs_min": 30, "gets_min": minutes},
        {"bed": "seedlings", "zone": "sown", "needs_min": 0, "gets_min": 0},
    ]
    own = {"zone": zone, "outlet": 1, "days": "Mon Thu", "starts": list(starts), "run_time_min": minutes}
    return {
        "schema": "rillbook.week/1",
        "as_of": first.isoformat(),
        "rows": [{**own, "volume_l": 61.5 * len(runs)}, {**other, "run_time_min": None, "volume_l": 0.0}],
        "beds": beds,
        "runs": runs,
        "conflicts": [],
    }


def table(*arguments, timezone="Europe/Berlin", garden="Heron Lane", computed_at=COMPUTED, **changes):
    """Return that week as a table."""
    return read_table(
        document(*arguments, **changes), garden=garden, timezone=timezone, computed_at=computed_at
    )
