"""The short form of `python -m tests.kills --times 100 --requests 200`."""

import signal
import subprocess
import sys

import pytest

from tests.kills import asked_to_end, killed


def test_three_kills_lose_nothing_but_what_was_not_saved(tmp_path):
    assert killed(3, tmp_path).startswith("3 kills")


def test_eight_requests_to_end_leave_a_good_file(tmp_path):
    assert asked_to_end(8, tmp_path, first=5).startswith("8 requests")


@pytest.mark.skipif(sys.platform == "win32", reason="signals are other ones there")
@pytest.mark.parametrize("place", ["work()", "Tidied()"])
def test_a_request_is_not_lost_where_python_ignores_exceptions(place):
    """In a destructor a KeyboardInterrupt is told and ignored; it must come back behind it."""
    code = (
        "import signal, time\n"
        "from photonsim.leaving import broken_off_in_order, end, meet_requests\n"
        "def work(): signal.raise_signal(signal.SIGTERM)\n"
        "class Tidied:\n"
        "    def __del__(self): work()\n"
        "meet_requests()\n"
        "try:\n"
        "    with broken_off_in_order():\n"
        f"        {place}\n"
        "        for _ in range(1000): time.sleep(0.01)\n"
        "except KeyboardInterrupt as asked: end(signal.Signals[str(asked)])\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 128 + signal.SIGTERM, done.stderr
    assert done.stderr == "broken off; the last saved state stands\n"
