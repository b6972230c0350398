"""How high the points lie that named segments join."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from scheduler.garden.layout_plan import Segment

__all__ = ["segment_heights"]


def segment_heights(segments: Iterable[Segment], known: Mapping[str, float]) -> dict[str, float]:
    """Return the height of every point that hangs together with a known one [m].

    Parameters
    ----------
    segments : iterable of Segment
        Round a ring their rises add up to nothing; the checks of a plan see to that.
    known : Mapping of str to float
        Heights of some points, such as the outlets [m].
    """
    heights = dict(known)
    waiting = list(segments)
    while waiting:
        rest = []
        for segment in waiting:
            if segment.start in heights:
                heights.setdefault(segment.end, heights[segment.start] + segment.rise)
            elif segment.end in heights:
                heights[segment.start] = heights[segment.end] - segment.rise
            else:
                rest.append(segment)
        if len(rest) == len(waiting):
            break
        waiting = rest
    return heights
