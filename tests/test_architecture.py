"""The package keeps to the rules of architecture.py, and each rule can be broken."""

from pathlib import Path

import pytest

import scheduler
from tests.architecture import LONGEST_MODULE, faults_of_source, faults_of_text

PROJECT = Path(__file__).resolve().parent.parent
PACKAGE = PROJECT / "scheduler"
MODULES = sorted(path.relative_to(PACKAGE).as_posix() for path in PACKAGE.rglob("*.py"))
TEXTS = sorted(
    path.relative_to(PROJECT).as_posix()
    for folder in ("scheduler", "tests", "config", "sample_weather")
    for path in (PROJECT / folder).rglob("*")
    if path.suffix in {".py", ".toml", ".csv", ".md", ".txt", ".json"}
)

LIST = "__all__ = []\n"

# Module, source, and a part of the fault that it must bring.
BROKEN = [
    ("water/crop.py", "import pandas", "may not import pandas"),
    ("water/crop.py", "import csv", "water may not import csv"),
    ("water/crop.py", "from scheduler.garden.plan import Bed", "water may not import scheduler.garden.plan"),
    ("drip/emitters.py", "from scheduler.water import crop", "drip may not import scheduler.water.crop"),
    ("drip/emitters.py", "import scipy", "may not import scipy"),
    ("drip/friction.py", "from scipy.sparse import csr_array", "may not import scipy"),
    ("timetable/week.py", "from scheduler.season.run import run_week", "may not import scheduler.season.run"),
    ("timetable/week.py", "from scheduler.garden import units", "may not import scheduler.garden.units"),
    ("season/run.py", "from scheduler.weather.readers import read_weather", "scheduler.weather.readers"),
    ("season/run.py", "def f():\n    import pyet", "may not import pyet"),
    ("garden/units.py", "import pint", "may not import pint"),
    ("garden/plan.py", "from scheduler.water.crop import rooting_depth", "may not import scheduler.water"),
    ("weather/record.py", "import pandas as pd", "may not import pandas"),
    ("weather/readers.py", "from pydantic import BaseModel", "may not import pydantic"),
    ("show/report.py", "from matplotlib.figure import Figure", "may not import matplotlib"),
    ("show/week_view.py", "from rich.table import Table", "may not import rich"),
    ("show/week_view.py", "from scheduler.clock import today", "show may not import scheduler.clock"),
    ("show/week_view.py", "import click", "may not import click"),
    ("errors.py", "from scheduler import clock", "errors may not import scheduler.clock"),
    ("water/crop.py", "from . import need", "relative import"),
    ("wells/pump.py", "import numpy", "chapter 'wells' has no line"),
    ("season/run.py", "import time", "may not import time"),
    ("season/run.py", "from datetime import date\nd = date.today()", "reads the clock through today"),
    ("cli/answers.py", "from datetime import datetime\nd = datetime.now()", "reads the clock through now"),
    ("season/run.py", 'import numpy as np\nd = np.datetime64("today")', "reads the clock through datetime64"),
    ("weather/readers.py", "from urllib.request import urlopen", "may not import urllib"),
    ("cli/answers.py", "import socket", "may not import socket"),
    ("season/tariff.py", 'open("bill.txt")', "touches a file through open"),
    ("garden/planfile.py", "def parse_plan(p):\n    p.open()", "touches a file through open"),
    ("show/plot.py", 'def draw(f):\n    f.savefig("a.png")', "touches a file through savefig"),
    ("show/report.py", 'def write(p):\n    p.write_text("")', "touches a file through write_text"),
    ("season/run.py", "import os", "may not import os"),
    ("season/run.py", 'print("minutes")', "print()"),
    ("season/run.py", "import numpy as np\nnp.random.seed(1)", "its own randomness through seed"),
    ("drip/emitters.py", "import numpy as np\nr = np.random.default_rng()", "through default_rng"),
    ("drip/emitters.py", "from numpy.random import normal", "imports from numpy.random"),
    ("drip/emitters.py", "import random", "may not import random"),
    ("season/run.py", "def feet(m):\n    return m / 0.3048", "unit factor 0.3048"),
    ("show/report.py", "GALLON = 3.785", "unit factor 3.785"),
    ("weather/readers.py", "def celsius(f):\n    return (f - 32) / 1.8", "unit factor 1.8"),
    ("garden/shapes.py", 'from fractions import Fraction\nINCH = Fraction("0.0254")', "unit factor '0.0254'"),
    ("season/run.py", "x = 1", "has no __all__"),
]
BROKEN_LISTS = [
    ('__all__ = ["b", "a"]\na = b = 1', "__all__ is not sorted"),
    ("__all__ = []\ndef run(): ...", "__all__ lacks run"),
    ("__all__ = []\nclass Run: ...", "__all__ lacks Run"),
    ('__all__ = ["walk"]', "__all__ lists walk"),
    (LIST + "#\n" * LONGEST_MODULE, f"more than {LONGEST_MODULE}"),
]
KEPT = [
    ("water/crop.py", "import numpy as np\nfrom scheduler.errors import RillbookError"),
    ("season/run.py", "from datetime import date, time\nfrom scheduler.weather.normals import Normals"),
    ("garden/rare_units.py", "def f():\n    import pint"),
    ("garden/planfile.py", 'def load_plan(path):\n    with path.open("rb"):\n        pass'),
    ("clock.py", "from datetime import datetime\nd = datetime.now()"),
    ("show/plot.py", "def draw(axes):\n    axes.plot(linewidth=1.8)"),
    ("garden/units.py", 'FOOT = "0.3048"'),
    ("drip/network_newton.py", "def f():\n    from scipy.sparse import csr_array"),
    ("drip/emitters.py", "import numpy as np\nG = np.random.Generator"),
]


@pytest.mark.parametrize("name", MODULES)
def test_module_keeps_the_rules(name):
    assert faults_of_source(name, (PACKAGE / name).read_text(encoding="utf-8")) == []


def test_there_is_something_to_check():
    assert {"cli/answers.py", "water/rootzone.py", "garden/units.py", "weather/readers.py"} <= set(MODULES)
    assert {"config/demo_four_outlets.toml", "tests/test_architecture.py"} <= set(TEXTS)


@pytest.mark.parametrize(("name", "source", "fault"), BROKEN)
def test_rule_can_be_broken(name, source, fault):
    listed = "" if fault == "has no __all__" else LIST
    assert any(fault in found for found in faults_of_source(name, f"{listed}{source}\n"))


@pytest.mark.parametrize(("source", "fault"), BROKEN_LISTS)
def test_rule_of_the_list_can_be_broken(source, fault):
    assert any(fault in found for found in faults_of_source("season/run.py", f"{source}\n"))


@pytest.mark.parametrize(("name", "source"), KEPT)
def test_what_is_allowed_is_no_fault(name, source):
    faults = faults_of_source(name, f"{LIST}{source}\n")
    assert [fault for fault in faults if "__all__" not in fault] == []


@pytest.mark.parametrize("name", scheduler.__all__)
def test_names_of_the_package_are_there(name):
    assert getattr(scheduler, name) is not None


@pytest.mark.parametrize("name", TEXTS)
def test_text_names_no_folder_of_a_machine(name):
    assert faults_of_text((PROJECT / name).read_text(encoding="utf-8-sig")) == []


def test_a_folder_of_a_machine_is_found():
    home = "/".join(["", "home", ""])
    assert faults_of_text(f"first\nsee {home}plan.toml\n") == [f"line 2: {home}"]
