"""The rules of the house as checks on source text: who may import what, and what happens only in one place.

`faults_of_source(name, source)` takes a module's path below the package and its text, so that a test can show
each rule at work on a few invented lines.
"""

import ast
import math
from collections.abc import Iterator
from fnmatch import fnmatch

__all__ = ["faults_of_source", "faults_of_text"]

LONGEST_MODULE = 450

#: What the kernel and the planner may import beside the package: no clock, no files, no tables of data.
_PLAIN = frozenset(
    {"__future__", "typing", "collections", "dataclasses", "math", "datetime", "itertools", "heapq"}
)

#: Chapter -> parts of the package it may import, as patterns; a chapter may always import itself and errors.
_INSIDE = {
    "__init__": ("scheduler.*",),
    "__main__": ("scheduler.cli",),
    "errors": (),
    "clock": (),
    "spreadsheet": (),
    "garden": (),
    "weather": (
        "scheduler.garden.plan",
        "scheduler.garden.units",
        "scheduler.garden.dimensions",
        "scheduler.clock",
        "scheduler.__version__",
        "scheduler.ledger.*",
    ),
    "ledger": ("scheduler.garden.plan", "scheduler.season.field", "scheduler.spreadsheet"),
    "service": ("scheduler.*",),
    "publish": (
        "scheduler.garden.plan",
        "scheduler.season.*",
        "scheduler.timetable.*",
        "scheduler.show.wholefile",
        "scheduler.show.notes",
        "scheduler.__version__",
        "scheduler.weather.record",
    ),
    "reconcile": (
        "scheduler.garden.plan",
        "scheduler.ledger.*",
        "scheduler.season.supply",
        "scheduler.season.field",
        "scheduler.drip.emitters",
        "scheduler.drip.flow_measurement",
    ),
    "water": (),
    "drip": (),
    "layout": ("scheduler.garden.*", "scheduler.drip.*"),
    "timetable": ("scheduler.garden.plan", "scheduler.water.*"),
    "season": (
        "scheduler.garden.plan",
        "scheduler.garden.units",
        "scheduler.drip.*",
        "scheduler.layout.flows",
        "scheduler.timetable.*",
        "scheduler.water.*",
        "scheduler.weather.normals",
        "scheduler.weather.record",
    ),
    "show": (
        "scheduler.spreadsheet",
        "scheduler.garden.*",
        "scheduler.season.*",
        "scheduler.timetable.*",
        "scheduler.water.*",
        "scheduler.weather.normals",
        "scheduler.weather.record",
        "scheduler.ledger.*",
        "scheduler.reconcile.*",
        "scheduler.layout.*",
        "scheduler.drip.cup_evaluation",
        "scheduler.weather.fetching",
    ),
    "cli": ("scheduler", "scheduler.*"),
}

#: Package from outside -> modules that may import it, as patterns.
_OUTSIDE = {
    "numpy": (
        *("water/*", "drip/*", "layout/*", "timetable/*", "season/*", "show/*", "weather/*", "reconcile/*"),
        *("service/hashes.py", "service/notices.py", "service/settle.py"),
        "garden/units.py",
    ),
    "apscheduler": ("service/serve.py",),
    "icalendar": ("publish/calendar.py",),
    "paho": ("publish/mqtt.py",),
    "scipy": ("reconcile/*", "drip/quantiles.py", "drip/network*.py", "timetable/milp_*.py"),
    "requests": ("weather/sources/session.py", "weather/sources/transport.py"),
    "requests_cache": ("weather/sources/session.py",),
    "urllib3": ("weather/sources/transport.py",),
    "sqlite_utils": ("ledger/store.py",),
    "pandas": ("weather/readers.py", "weather/reference_et.py"),
    "pyet": ("weather/reference_et.py",),
    "pydantic": ("garden/*",),
    "pydantic_core": ("garden/*",),
    "pint": ("garden/rare_units.py",),
    "matplotlib": ("show/plot.py", "show/layout_*.py"),
    "rich": ("show/report.py",),
    "click": ("cli/*",),
}

#: Standard modules that touch clock, network, processes or files -> modules that may import them.
_GUARDED = {
    "time": ("clock.py",),
    "random": (),
    "secrets": (),
    "socket": (),
    "ssl": ("publish/mqtt.py", "service/email.py", "service/senders.py", "service/webhook.py"),
    "http": ("service/webhook.py",),
    "urllib": (
        *("weather/sources/transport.py", "weather/sources/open_meteo.py"),
        *("service/senders.py", "service/webhook.py"),
    ),
    "ftplib": (),
    "smtplib": ("service/email.py",),
    "asyncio": (),
    "subprocess": ("service/senders.py",),
    "multiprocessing": (),
    "tempfile": (),
    "sqlite3": ("ledger/*", "weather/sources/session.py"),
    "os": ("publish/secret.py",),
    "glob": (),
    "logging": ("weather/sources/session.py",),
    "shutil": ("cli/answering.py",),
    "sys": ("cli/*", "__main__.py"),
    "zoneinfo": (
        "clock.py",
        "garden/checks_place.py",
        "weather/sources/*.py",
        "cli/*",
        "ledger/fieldnotes.py",
        # The rules of a zone are data: when its clocks change, not what they show now.
        "season/clock_changes.py",
        "publish/table.py",
        "service/*",
    ),
}

_CLOCK_CALLS = frozenset({"now", "utcnow", "today", "localtime", "time_ns"})

#: Call that opens, reads or writes -> (module, function) where it may stand; "*" is any function.
_FILE_CALLS = {
    "open": (
        ("garden/planfile.py", "load_plan"),
        ("show/wholefile.py", "write_whole"),
        ("weather/readers.py", "read_weather"),
        ("publish/secret.py", "_from_file"),
        ("service/senders.py", "_to_file"),
    ),
    "read_text": (
        *(("garden/tables.py", "*"), ("cli/records.py", "_text")),
        *(("service/day.py", "daily_job"), ("service/current.py", "current_table")),
        *(("service/outbox.py", "read_outbox"), ("service/health.py", "last_success")),
    ),
    "read_bytes": (("cli/plans.py", "*"), ("weather/sources/station_csv.py", "read_station_csv")),
    "write_text": (),
    "write_bytes": (("cli/plans.py", "*"),),
    "mkdir": (("cli/plans.py", "*"), ("weather/sources/session.py", "_try_file")),
    "savefig": (("show/plot.py", "save_figure"),),
    "unlink": (("show/wholefile.py", "write_whole"),),
    "rmdir": (),
    "touch": (),
    "rename": (),
    "read_csv": (),
    "to_csv": (),
    "savetxt": (),
    "loadtxt": (),
}

#: Size of one unit in another; a number within 0.2 % of one of these belongs into garden/units.py.
_FACTORS = (
    *(0.3048, 304.8, 3.28084, 0.0254, 25.4, 2.54, 0.0929, 10.7639, 0.836127, 4046.86),
    *(
        3.785411784,
        0.264172,
        4.54609,
        0.219969,
        28.3168,
        7.48052,
        748.052,
        2831.68,
        0.623377,
        1.604167,
        96.25,
    ),
    *(96.25, 6.894757, 0.145038, 0.433, 2.31, 101.325, 0.44704, 2.23694, 1.609344, 1.8, 0.0864, 11.574),
)


def _imports(tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Yield line and full name of everything imported."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.level:
                yield node.lineno, "." * node.level + (node.module or "")
            elif node.module in {"scheduler", *(f"scheduler.{chapter}" for chapter in _INSIDE)}:
                yield from ((node.lineno, f"{node.module}.{alias.name}") for alias in node.names)
            else:
                yield node.lineno, str(node.module)


def _allowed_inside(chapter: str, target: str) -> bool:
    own = f"scheduler.{chapter}"
    if target in {own, "scheduler.errors"} or target.startswith((f"{own}.", "scheduler.errors.")):
        return True
    return any(fnmatch(target, p) or fnmatch(target, f"{p}.*") for p in _INSIDE[chapter])


def _import_faults(name: str, tree: ast.AST) -> Iterator[str]:
    chapter = name.split("/")[0].removesuffix(".py")
    if chapter not in _INSIDE:
        yield f"chapter {chapter!r} has no line in the table of imports"
        return
    for line, target in _imports(tree):
        root = target.split(".")[0]
        if not root:
            yield f"line {line}: relative import {target}"
        elif root == "scheduler":
            if not _allowed_inside(chapter, target):
                yield f"line {line}: {chapter} may not import {target}"
        elif root in _OUTSIDE or root in _GUARDED:
            if not any(fnmatch(name, pattern) for pattern in (_OUTSIDE | _GUARDED)[root]):
                yield f"line {line}: may not import {root}"
        elif chapter in {"water", "drip", "layout", "timetable"} and root not in _PLAIN:
            yield f"line {line}: {chapter} may not import {root}"


def _calls(tree: ast.AST, within: str = "") -> Iterator[tuple[ast.Call, str]]:
    """Yield every call with the name of the innermost function around it."""
    for node in ast.iter_child_nodes(tree):
        inner = node.name if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) else within
        if isinstance(node, ast.Call):
            yield node, inner
        yield from _calls(node, inner)


def _call_faults(name: str, tree: ast.AST) -> Iterator[str]:
    for call, within in _calls(tree):
        place = f"line {call.lineno}"
        plain = call.func.id if isinstance(call.func, ast.Name) else ""
        method = call.func.attr if isinstance(call.func, ast.Attribute) else ""
        if plain in {"print", "input", "eval", "exec", "breakpoint"}:
            yield f"{place}: {plain}()"
        if method in _CLOCK_CALLS and name != "clock.py":
            yield f"{place}: reads the clock through {method}()"
        # A ledger is opened by its own class, which stands in the ledger's chapter.
        method = "" if ast.unparse(call.func) == "Ledger.open" else method
        opens = method or (plain if plain == "open" else "")
        places = _FILE_CALLS.get(opens)
        if places is not None and not any(name == m and f in {"*", within} for m, f in places):
            yield f"{place}: touches a file through {opens}()"
        texts = [arg.value for arg in call.args if isinstance(arg, ast.Constant)]
        if method == "datetime64" and {"now", "today"} & {t for t in texts if isinstance(t, str)}:
            yield f"{place}: reads the clock through datetime64"


def _random_faults(tree: ast.AST) -> Iterator[str]:
    """Only the type of a generator that is passed in may be named."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == "numpy.random":
            yield f"line {node.lineno}: imports from numpy.random"
        elif (
            isinstance(node, ast.Attribute)
            and ast.unparse(node.value) in {"np.random", "numpy.random"}
            and node.attr != "Generator"
        ):
            yield f"line {node.lineno}: makes its own randomness through {node.attr}"


def _number(node: ast.Constant) -> float | None:
    if isinstance(node.value, bool) or not isinstance(node.value, int | float | str):
        return None
    try:
        return float(node.value)
    except ValueError:
        return None


def _factor_faults(name: str, tree: ast.AST) -> Iterator[str]:
    """A figure passed by keyword is a setting (a line width of 1.8), not a factor."""
    if name == "garden/units.py":
        return
    settings = {id(k.value) for node in ast.walk(tree) if isinstance(node, ast.Call) for k in node.keywords}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and id(node) not in settings:
            number = _number(node)
            if number is not None and any(math.isclose(number, f, rel_tol=2e-3) for f in _FACTORS):
                yield f"line {node.lineno}: unit factor {node.value!r}"


def _is_command(node: ast.FunctionDef | ast.ClassDef) -> bool:
    """Return True for what the command line reaches by its own name."""
    return any(
        isinstance(part, ast.Attribute) and part.attr in {"command", "group"}
        for decorator in node.decorator_list
        for part in ast.walk(decorator)
    )


def _rank(name: str) -> tuple[int, str]:
    """Return the place of a name as imports are sorted: constants, classes, then the rest."""
    return (0 if name.isupper() else 1 if name[0].isupper() else 2), name.lower()


def _listed(tree: ast.Module) -> tuple[list[str] | None, set[str], set[str]]:
    """Return `__all__`, the public functions and classes, and every other name of the module."""
    listed: list[str] | None = None
    public: set[str] = set()
    others: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            hidden = node.name.startswith("_") or _is_command(node)
            (others if hidden else public).add(node.name)
        elif isinstance(node, ast.ImportFrom | ast.Import):
            others |= {alias.asname or alias.name for alias in node.names}
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            targets = node.targets if isinstance(node, ast.Assign) else [node.target]
            names = {target.id for target in targets if isinstance(target, ast.Name)}
            others |= names
            if "__all__" in names and node.value is not None:
                listed = list(ast.literal_eval(node.value))
    return listed, public, others


def _list_faults(name: str, tree: ast.Module) -> Iterator[str]:
    listed, public, others = _listed(tree)
    if listed is None:
        if name.endswith("__init__.py") and len(tree.body) <= 1:
            return
        yield "has no __all__"
        return
    if listed != sorted(listed, key=_rank):
        yield "__all__ is not sorted"
    if missing := sorted(public - set(listed)):
        yield f"__all__ lacks {', '.join(missing)}"
    # The package itself hands out names that it loads when they are asked for.
    if name != "__init__.py" and (unknown := sorted(set(listed) - public - others)):
        yield f"__all__ lists {', '.join(unknown)}, which the module has not"


def faults_of_source(name: str, source: str) -> list[str]:
    """Return what a module does against the rules; `name` is its path below the package."""
    tree = ast.parse(source)
    faults = [
        *_import_faults(name, tree),
        *_call_faults(name, tree),
        *_random_faults(tree),
        *_factor_faults(name, tree),
        *_list_faults(name, tree),
    ]
    lines = len(source.splitlines())
    if lines > LONGEST_MODULE:
        faults.append(f"has {lines} lines, more than {LONGEST_MODULE}")
    return faults


def faults_of_text(text: str) -> list[str]:
    """Return every line that names a folder of somebody's machine."""
    # Put together here, since this file is read by the same check.
    folders = [f"/{folder}/" for folder in ("work", "tmp", "root", "home", "Users")]
    return [
        f"line {number}: {folder}"
        for number, line in enumerate(text.splitlines(), 1)
        for folder in folders
        if folder in line
    ]
