"""The command line: arguments, exit codes, one function a command.

Only click is imported with it; every command imports what it needs, so that ``--help`` and ``check`` stay
quick. stdout is the answer, stderr is talk. Exit codes: 0 answered, 1 input refused, 2 usage,
3 answered, but the runs do not fit or a reading looks wrong, 4 weather could not be had.
"""

from __future__ import annotations

import atexit
import gc

import click

from scheduler import __version__
from scheduler.cli.answering import NotFeasibleError
from scheduler.cli.answers import bed, season, weather, week
from scheduler.cli.away import away
from scheduler.cli.checking import reconcile
from scheduler.cli.compare import compare
from scheduler.cli.fetching import fetch
from scheduler.cli.heat import heat
from scheduler.cli.layout import layout
from scheduler.cli.order import order
from scheduler.cli.plans import check, crops, new, schema
from scheduler.cli.rain import rain
from scheduler.cli.records import ledger, log
from scheduler.cli.service import daily, publish, serve, unit
from scheduler.cli.settings import settings
from scheduler.cli.spacing import spacing
from scheduler.cli.valves import valves
from scheduler.errors import RillbookError

__all__ = ["main", "rillbook"]

# On its way out Python would look for unreachable cycles in all that is loaded.
atexit.register(gc.freeze)


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="rillbook")
def rillbook() -> None:
    """Watering minutes, days and cost for raised beds on drip, from a garden plan and a weather record."""


for command in (
    *(week, bed, season, compare, settings, weather, spacing),
    *(valves, order, away, heat, rain),
    *(check, layout, crops, schema, new),
    *(log, ledger, reconcile, fetch),
    *(daily, serve, publish, unit),
):
    rillbook.add_command(command)


def main(argv: list[str]) -> int:
    """Run a command and return its exit code; a fault that a person can mend is told without a traceback."""
    # Python would look for unreachable cycles hundreds of times while libraries load, a tenth of the whole
    # time, and find next to none. `serve`, which stays, lets it look.
    looked = gc.isenabled()
    gc.disable()
    try:
        return _exit_code(argv)
    finally:
        if looked:
            gc.enable()


def _exit_code(argv: list[str]) -> int:
    try:
        rillbook.main(args=argv, prog_name="rillbook", standalone_mode=False)
    except NotFeasibleError as fault:
        click.echo(f"does not fit: {fault}", err=True)
        return fault.exit_code
    except RillbookError as fault:
        click.echo(str(fault), err=True)
        return fault.exit_code
    except click.exceptions.Exit as leave:
        return leave.exit_code
    except click.ClickException as fault:
        fault.show()
        return fault.exit_code
    except click.Abort:
        click.echo("stopped", err=True)
        return 1
    return 0
