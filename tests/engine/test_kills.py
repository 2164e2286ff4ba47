"""The short form of `python -m tests.kills --times 100 --requests 200`."""

from tests.kills import asked_to_end, killed


def test_three_kills_lose_nothing_but_what_was_not_saved(tmp_path):
    assert killed(3, tmp_path).startswith("3 kills")


def test_eight_requests_to_end_leave_a_good_file(tmp_path):
    assert asked_to_end(8, tmp_path, first=5).startswith("8 requests")
