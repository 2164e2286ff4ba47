"""The short form of `python -m tests.fuzz --scenes 5000 --results 500`, with other cases."""

from tests.fuzz import result_files, scene_files
from tests.fuzz.__main__ import fuzz


def test_spoilt_scene_files(capsys):
    assert fuzz("scene files", scene_files.judge, 10_000, 150) == 0, capsys.readouterr().out


def test_spoilt_result_files(capsys):
    assert fuzz("result files", result_files.judge, 10_000, 30) == 0, capsys.readouterr().out
