"""Entry point of the command and of ``python -m scheduler``."""

from __future__ import annotations

import sys

from scheduler.cli import main

__all__ = ["run"]


def run() -> None:
    """Run the command and leave with its exit code."""
    sys.exit(main(sys.argv[1:]))


if __name__ == "__main__":
    run()
