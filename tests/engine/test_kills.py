"""The short form of `python -m tests.kills --times 100`."""

from tests.kills import killed


def test_three_kills_lose_nothing_but_what_was_not_saved(tmp_path):
    assert killed(3, tmp_path).startswith("3 kills")
