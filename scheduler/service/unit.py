"""Text of a systemd unit that keeps the service running. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import time
from pathlib import Path, PurePath

from scheduler.garden.plan import FileNotice, Garden
from scheduler.ledger.place import ledger_path

__all__ = ["unit_text", "written_folders"]

_TEMPLATE = """\
# Put this into a file such as rillbook.service in systemd's folder of units, then:
#   systemctl daemon-reload && systemctl enable --now rillbook
# Its log: journalctl -u rillbook

[Unit]
Description=Watering timetable of {garden}
Wants=network-online.target
After=network-online.target time-sync.target

[Service]
Type=exec
ExecStart={command}
WorkingDirectory={directory}
Restart=on-failure
RestartSec=60
# A run under way is finished before the service ends.
KillSignal=SIGTERM
TimeoutStopSec=180

User={user}
# Or as a user that exists only while it runs: set DynamicUser=yes in place of User=, add
# StateDirectory=rillbook, and keep the plan with its weather file in that state directory.
#DynamicUser=yes
#StateDirectory=rillbook

# Secrets: variables that the plan names, in a file that only root can read.
#EnvironmentFile=

# Only these folders may be written to: those of the ledger and of all that the plan asks to be written.
ReadWritePaths={folders}
ProtectSystem=strict
ProtectHome=read-only
PrivateTmp=yes
PrivateDevices=yes
NoNewPrivileges=yes
CapabilityBoundingSet=
ProtectClock=yes
ProtectControlGroups=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service

[Install]
WantedBy=multi-user.target
"""


def written_folders(plan: Path, garden: Garden) -> tuple[Path, ...]:
    """Return the folders into which the service writes; `plan` is the absolute path of the plan."""
    files: list[PurePath | None] = [ledger_path(plan, garden)]
    files += [receiver.file for receiver in garden.notify if isinstance(receiver, FileNotice)]
    if garden.publish is not None:
        files += [garden.publish.json, garden.publish.calendar]
    return tuple(dict.fromkeys((plan.parent / file).parent for file in files if file is not None))


def unit_text(command: Sequence[str], plan: Path, *, garden: Garden, at: time, user: str) -> str:
    """Return the unit.

    Parameters
    ----------
    command : sequence of str
        How the program is called, with an absolute path.
    plan : Path
        Absolute path of the plan.
    garden : Garden
    at : time
        Hour of the daily job.
    user : str
        Who runs it: an account that may write to the plan's folder.
    """
    words = (*command, "serve", str(plan), "--at", f"{at:%H:%M}")
    return _TEMPLATE.format(
        garden=_percent(" ".join(garden.name.split())),
        command=" ".join(_word(word).replace("$", "$$") for word in words),
        directory=_percent(str(plan.parent)),
        folders=" ".join(_word(str(folder)) for folder in written_folders(plan, garden)),
        user=_percent(user),
    )


def _percent(text: str) -> str:
    """Return a text in which no percent sign stands for something else."""
    return text.replace("%", "%%")


def _word(text: str) -> str:
    """Return a text as one word of a unit file, quoted."""
    escaped = _percent(text).replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
