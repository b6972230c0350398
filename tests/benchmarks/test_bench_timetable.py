"""The timetable benchmark runs and writes table and picture; what it measures is for people to read."""

from tests.benchmarks import bench_timetable


def test_the_week_is_timed_against_every_setting(capsys, tmp_path):
    picture = tmp_path / "growth.png"
    bench_timetable.main(["--beds", "2,4", "--repeats", "1", "--plot", str(picture)])
    head, *rows, target = capsys.readouterr().out.splitlines()
    assert head.split()[:2] == ["beds", "outlets"]
    assert [row.split()[:2] for row in rows] == [["2", "1"], ["4", "2"]]
    assert all(float(row.split()[2]) > 0.0 and row.split()[3] == "True" for row in rows)
    assert target.endswith("2.0 s")
    assert picture.read_bytes().startswith(b"\x89PNG")
