"""Names of the plan as a person types them: taken, or refused with the name that was meant."""

from __future__ import annotations

from collections.abc import Sequence

from scheduler.errors import RillbookError

__all__ = ["named"]

#: Likeness from which a name counts as near, as difflib reckons it; its own usual cutoff.
NEAR = 0.6


def named(kind: str, name: str, names: Sequence[str], *, where: str = "the plan") -> str:
    """Return a name of the plan, or refuse it with the near one, else with all there are."""
    if name in names:
        return name
    near = _near(name, names)
    hint = f'did you mean "{near}"?' if near is not None else f"one of {', '.join(names)}"
    raise RillbookError(f'{kind} "{name}": not in {where}; {hint}')


def _near(name: str, names: Sequence[str]) -> str | None:
    """Return the name that is most like another, None if none is near.

    Words that both have in common do not count: "low bed" is not like "tall bed".
    """
    likeness = {known: _likeness(name.casefold().split(), known.casefold().split()) for known in names}
    best = max(likeness.values(), default=0.0)
    nearest = [known for known, like in likeness.items() if like == best]
    return nearest[0] if best >= NEAR and (best < 1.0 or len(nearest) == 1) else None


def _likeness(said: Sequence[str], known: Sequence[str]) -> float:
    """Return how like two names are in the words that they do not share; 1 if one lacks words alone."""
    from difflib import SequenceMatcher

    said_alone = " ".join(word for word in said if word not in known)
    known_alone = " ".join(word for word in known if word not in said)
    if not said_alone and said:
        return 1.0
    return SequenceMatcher(None, said_alone, known_alone).ratio()
