"""Secrets come from the environment or from a file that is its owner's alone."""

from pathlib import PurePath

import pytest

from scheduler.errors import RillbookError
from scheduler.garden.plan import Secret
from scheduler.publish.secret import read_secret

FILE = Secret(file=PurePath("token"))


def secret_file(folder, content, mode=0o600):
    path = folder / "token"
    path.write_bytes(content)
    path.chmod(mode)


def test_from_environment(tmp_path, monkeypatch):
    monkeypatch.setenv("GARDEN_TOKEN", "s3cret")
    assert read_secret(Secret(env="GARDEN_TOKEN"), folder=tmp_path) == "s3cret"


@pytest.mark.parametrize("value", [None, ""])
def test_variable_that_is_not_set(tmp_path, monkeypatch, value):
    monkeypatch.delenv("GARDEN_TOKEN", raising=False)
    if value is not None:
        monkeypatch.setenv("GARDEN_TOKEN", value)
    with pytest.raises(RillbookError, match="environment variable GARDEN_TOKEN: not set"):
        read_secret(Secret(env="GARDEN_TOKEN"), folder=tmp_path)


@pytest.mark.parametrize("content", [b"s3cret", b"s3cret\n", b"  s3cret \r\nsecond line\n"])
@pytest.mark.parametrize("mode", [0o600, 0o400])
def test_from_file(tmp_path, content, mode):
    secret_file(tmp_path, content, mode)
    assert read_secret(FILE, folder=tmp_path) == "s3cret"


@pytest.mark.parametrize("mode", [0o640, 0o604, 0o620, 0o602, 0o610, 0o601, 0o644])
def test_file_that_others_may_use_is_refused(tmp_path, mode):
    secret_file(tmp_path, b"s3cret", mode)
    with pytest.raises(RillbookError, match="chmod 600") as refused:
        read_secret(FILE, folder=tmp_path)
    assert "s3cret" not in str(refused.value)


@pytest.mark.parametrize(
    ("content", "word"), [(b"", "is empty"), (b"\nsecond", "is empty"), (b"\xff\xfe", "is not text")]
)
def test_file_without_a_secret(tmp_path, content, word):
    secret_file(tmp_path, content)
    with pytest.raises(RillbookError, match=word):
        read_secret(FILE, folder=tmp_path)


def test_missing_file(tmp_path):
    with pytest.raises(RillbookError, match="cannot be read"):
        read_secret(FILE, folder=tmp_path)
