"""What the program reads from its own package travels with the wheel."""

import tomllib
from fnmatch import fnmatch
from pathlib import Path

PROJECT = Path(__file__).parent.parent


def test_every_data_file_is_declared_as_package_data():
    declared = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))
    patterns = declared["tool"]["setuptools"]["package-data"]["scheduler"]
    package = PROJECT / "scheduler"
    data = [
        path.relative_to(package).as_posix()
        for path in package.rglob("*")
        if path.is_file() and path.suffix not in {".py", ".pyc"}
    ]
    assert "garden/data/starter.toml" in data
    assert [name for name in data if not any(fnmatch(name, pattern) for pattern in patterns)] == []


def test_starter_weather_is_the_end_of_the_invented_record():
    def rows(path):
        lines = path.read_text(encoding="utf-8").splitlines()
        return [line for line in lines if not line.startswith("#")]

    starter = rows(PROJECT / "scheduler/garden/data/starter_weather.csv")
    record = rows(PROJECT / "sample_weather/invented_valley_daily.csv")
    assert starter[0] == record[0]
    assert starter[1:] == record[-len(starter) + 1 :]
    assert len(starter) > 600
