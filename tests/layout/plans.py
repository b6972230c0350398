"""Plans with a layout for tests: the small plan of the garden's tests, and pieces to put into it."""

from __future__ import annotations

from scheduler.garden.plan import Garden
from scheduler.garden.planfile import parse_plan
from tests.garden.conftest import PLAN

__all__ = ["BED", "BORE", "FOOT", "INCH", "MAIN", "garden_of", "plan_with"]

FOOT = 0.3048
INCH = FOOT / 12
BORE = 'emitter_spacing = "6 in"\ninside_diameter = "0.17 in"\n'
BED = '"rectangle"\nlength = "10 ft"\nwidth = "4 ft"'
PLACE = (
    'runs = 2\nposition = ["3 ft", "2 ft"]\nrim_height = "12 in"\ninlet = "left"\nheader_diameter = "0.60 in"'
)
MAIN = (
    '\n[main_line]\nstart = ["0 ft", "0 ft"]\norder = ["tall bed"]\ninside_diameter = "0.60 in"\n'
    'height = "0 ft"\n\n[takeoff]\nspare = "0 %"\nstake_spacing = "3 ft"\n'
)


def plan_with(*pairs: tuple[str, str], main: str = MAIN, place: str = PLACE) -> str:
    """Return the small plan with a layout, with pieces of its text replaced that must be there."""
    text = PLAN.replace('emitter_spacing = "6 in"\n', BORE, 1).replace("runs = 2", place, 1) + main
    for old, new in pairs:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


def garden_of(text: str) -> Garden:
    """Return the garden of a plan that must be right."""
    garden, faults = parse_plan(text, source="garden.toml")
    assert garden is not None, [str(fault) for fault in faults]
    return garden
