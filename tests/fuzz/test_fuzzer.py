"""A bounded run of the coverage-guided fuzzer for each weather format, and proof that it finds faults.

RILLBOOK_FUZZ_RUNS in the environment sets the number of inputs for each format; -rP shows what was counted.
"""

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.fuzz.broken import BROKEN
from tests.fuzz.formats import FORMATS
from tests.fuzz.invariants import check

pytestmark = pytest.mark.fuzz

PROJECT = Path(__file__).resolve().parents[2]
RUNS = int(os.environ.get("RILLBOOK_FUZZ_RUNS", "2000"))
#: More than the fuzzer needs for each of the faults.
RUNS_FOR_A_FAULT = 20_000


def fuzz(name, runs, folder):
    """Return how a run of the fuzzer ended, and what it said."""
    command = [sys.executable, "-m", "tests.fuzz.run", name, str(runs), str(folder)]
    environment = {**os.environ, "PYTHONHASHSEED": "0"}
    done = subprocess.run(command, cwd=PROJECT, env=environment, capture_output=True, check=False)
    return done.returncode, (done.stdout + done.stderr).decode(errors="replace")


def executed(said):
    """Return the number of inputs that a run has tried."""
    (number,) = re.findall(r"stat::number_of_executed_units:\s*(\d+)", said)
    return int(number)


@pytest.mark.parametrize("name", FORMATS)
def test_nothing_but_records_and_faults_of_ours(name, tmp_path):
    code, said = fuzz(name, RUNS, tmp_path)
    assert code == 0, f"{said[-4000:]}\n{[path.read_bytes() for path in tmp_path.glob('crash-*')]}"
    assert executed(said) == RUNS
    sys.stdout.write(f"{name}: {executed(said)} inputs\n")


@pytest.mark.parametrize("name", BROKEN)
def test_fault_is_found(name, tmp_path):
    code, said = fuzz(name, RUNS_FOR_A_FAULT, tmp_path)
    assert code != 0
    assert "Uncaught Python exception" in said
    assert re.search(r"^(ValueError|AssertionError): ", said, re.MULTILINE)
    (found,) = tmp_path.glob("crash-*")
    # What was found is an input that shows the fault again, and none that the sound parser stumbles over.
    with pytest.raises((ValueError, AssertionError)):
        check(BROKEN[name].parse, found.read_bytes())
    check(FORMATS[name.partition(",")[0]].parse, found.read_bytes())
