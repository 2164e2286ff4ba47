"""Two worker processes give the bits of one thread, also when one of them is lost half-way."""

import os
import signal
from collections.abc import Iterator
from pathlib import Path

import pytest

from photonsim.engine import trace
from photonsim.engine.cluster import Cluster, trace_on_cluster
from photonsim.results import ResultError, load_result
from photonsim.scene import load_scene
from photonsim.studies.effort import Effort
from photonsim.studies.points import Setting
from photonsim.studies.sweep import grid, sweep
from tests.same_bits import assert_same_bits

SCENE = load_scene(Path(__file__).parents[2] / "scenes" / "d_split_film.toml")


@pytest.fixture(scope="module")
def cluster() -> Iterator[Cluster]:
    with Cluster("local:2") as found:
        yield found


def test_same_bits_as_one_thread(cluster: Cluster, tmp_path: Path) -> None:
    here = trace(SCENE, photons=300_001, seed=4, threads=1)
    there = trace_on_cluster(SCENE, 300_001, 4, cluster, save_to=tmp_path / "there.h5")
    assert_same_bits(here, there)
    assert_same_bits(here, load_result(tmp_path / "there.h5"))
    begun = trace(SCENE, photons=70_003, seed=4)
    assert_same_bits(here, trace_on_cluster(SCENE, 300_001, 4, cluster, resume=begun))


def test_a_sweep_on_a_cluster_gives_the_same_table(cluster: Cluster) -> None:
    points = grid({"train.film.z_mm": [10.0, 14.0, 60.0]})
    setting = Setting(SCENE, Effort(0.05, "near_axis_fraction"))
    assert sweep(setting, points, cluster=cluster).as_csv() == sweep(setting, points).as_csv()


def kill_own_process_once(task: tuple[str, int]) -> int:
    mark, number = task
    if number == 1 and not Path(mark).exists():
        Path(mark).touch()
        os.kill(os.getpid(), getattr(signal, "SIGKILL", signal.SIGTERM))
    return number * number


def test_the_loss_of_a_worker_is_survived(cluster: Cluster, tmp_path: Path) -> None:
    tasks = [(str(tmp_path / "killed"), number) for number in range(6)]
    outcomes = dict(cluster.run(kill_own_process_once, tasks))
    assert (tmp_path / "killed").exists()
    assert outcomes == {number: number * number for number in range(6)}


def refuse(number: int) -> int:
    raise ResultError(f"number {number} will not do")


def test_errors_come_back_as_they_were(cluster: Cluster) -> None:
    with pytest.raises(ResultError, match="number 3 will not do"):
        list(cluster.run(refuse, [3]))


@pytest.mark.parametrize("wrong", ["local:none", "tcp://127.0.0.1:1", "nowhere"])
def test_no_scheduler_is_told_plainly(wrong: str) -> None:
    with pytest.raises(ResultError, match=r"local:2|no scheduler answers"), Cluster(wrong):
        pass
