"""GPUs: the same histories as on the processor, and a sentence where there is none."""

import os
import subprocess
import sys
from pathlib import Path

import numba
import numpy as np
import pytest

import photonsim
from photonsim.engine import trace
from photonsim.engine.cuda import in_precision
from photonsim.engine.workers import workers_of
from photonsim.kernel import codes
from photonsim.kernel.compiler import OPTIONS
from photonsim.kernel.flights import no_flights
from photonsim.kernel.tallies import FIRST_ARRIVAL, ROW_FATES, Maps
from photonsim.program import Compiled, build_program
from photonsim.results import ResultError, load_result
from tests.engine.test_run import assert_same_bits
from tests.shipped import scene

ROOT = Path(__file__).parents[2]
SIMULATED = os.environ | {
    "NUMBA_ENABLE_CUDASIM": "1",
    "NUMBA_DISABLE_JIT": "1",
    "PYTHONPATH": str(ROOT),
}
COMMAND = [sys.executable, "-W", "ignore", "-m", "photonsim", "trace", "--device", "cuda"]


@pytest.mark.parametrize("letter", ["d", "f"])
@pytest.mark.parametrize("guiding", ["off", "auto"])
def test_the_simulated_gpu_counts_what_the_processor_counts(tmp_path, letter, guiding):
    ours, saved = tmp_path / "cpu.h5", tmp_path / "cuda.h5"
    expected = trace(scene(letter), photons=300, seed=7, guide=guiding, save_to=ours)
    # A pilot would take an hour with the compiler off.
    code = (
        "from photonsim import load_result, trace\nfrom tests.shipped import scene\n"
        f"trace(scene({letter!r}), photons=300, seed=7, device='cuda', precision='double',\n"
        f"      guide=load_result({str(ours)!r}), save_to={str(saved)!r})\n"
    )
    subprocess.run([sys.executable, "-W", "ignore", "-c", code], env=SIMULATED, check=True)
    found = load_result(saved)
    assert found.run.device == "cuda, double precision"
    assert (expected.tallies.guide is None) == (guiding == "off")
    assert_same_bits(found, expected)


@pytest.mark.parametrize("kinds", [256, 0], ids=["waiting for full warps", "never waiting"])
def test_photons_that_wait_for_others_are_traced_like_those_that_do_not(tmp_path, kinds):
    # One block for 256 histories: a warp of them comes to wait before film and panel.
    saved = tmp_path / "c.h5"
    code = (
        "from photonsim.engine import cuda, trace\nfrom photonsim.kernel import cuda_tally\n"
        "from tests.shipped import scene\n"
        f"cuda.BLOCKS_EACH, cuda_tally.MOST_KINDS = 1, {kinds}\n"
        "trace(scene('c'), photons=256, seed=7, device='cuda', precision='double',\n"
        f"      save_to={str(saved)!r}, guide='off')\n"
    )
    subprocess.run([sys.executable, "-W", "ignore", "-c", code], env=SIMULATED, check=True)
    assert_same_bits(load_result(saved), trace(scene("c"), photons=256, seed=7, guide="off"))


@pytest.mark.parametrize("kinds", [256, 0], ids=["waiting for full warps", "never waiting"])
def test_polarised_light_keeps_its_state_while_it_waits(tmp_path, kinds):
    # No part of these lamps asks for it: the trait is set by hand, here and there.
    expected = polarised_tallies("cpu", "single", 256)
    saved = tmp_path / "found.npy"
    code = (
        "import numpy as np\nfrom photonsim.engine import cuda\n"
        "from photonsim.kernel import cuda_tally\n"
        "from tests.engine.test_cuda import polarised_tallies\n"
        f"cuda.BLOCKS_EACH, cuda_tally.MOST_KINDS = 1, {kinds}\n"
        f"np.save({str(saved)!r}, polarised_tallies('cuda', 'double', 256))\n"
    )
    subprocess.run([sys.executable, "-W", "ignore", "-c", code], env=SIMULATED, check=True)
    np.testing.assert_array_equal(np.load(saved), expected)


def test_the_simulated_gpu_counts_light_twice_or_not_at_all(tmp_path):
    path, saved = ROOT / "tests" / "scene" / "polarised.toml", tmp_path / "cuda.h5"
    expected = trace(photonsim.load_scene(path), photons=256, seed=7, guide="off")
    code = (
        "from photonsim import trace\n"
        f"trace({str(path)!r}, photons=256, seed=7, device='cuda', precision='double',\n"
        f"      guide='off', save_to={str(saved)!r})\n"
    )
    subprocess.run([sys.executable, "-W", "ignore", "-c", code], env=SIMULATED, check=True)
    assert_same_bits(load_result(saved), expected)
    assert expected.tallies.batches["collected"].sum() > expected.fates[0].photons > 0


def polarised_tallies(device, precision, photons):
    """The rows of a polarised trace of a lamp with film, each batch one."""
    compiled = Compiled(scene("c"))
    traits = compiled.program.traits | codes.POLARISED
    compiled.program = compiled.program._replace(traits=traits)
    (worker, *_) = workers_of(compiled, 7, device, precision, 1).workers
    rows = np.zeros((1, compiled.row_width), np.int64)
    worker.trace(0, photons, 20, rows)
    return rows


def test_light_from_the_edge_of_a_plate_is_born_there_on_a_gpu_too(tmp_path):
    path, saved = ROOT / "tests" / "scene" / "all_kinds.toml", tmp_path / "all_kinds.h5"
    lamp = photonsim.load_scene(path)
    assert any(group.edge for group in lamp.emitters.values())
    options = ["--photons", "300", "--seed", "7", "--precision", "double", "--guide", "off"]
    options += ["--out", str(tmp_path)]
    subprocess.run([*COMMAND, str(path), *options], env=SIMULATED, check=True, timeout=300)
    assert_same_bits(load_result(saved), trace(lamp, photons=300, seed=7, guide="off"))


def test_a_run_goes_on_on_another_device_and_the_record_says_so(tmp_path):
    path = ROOT / "scenes" / "f_point_lamp.toml"
    lamp, saved = photonsim.load_scene(path), tmp_path / "f_point_lamp.h5"
    trace(lamp, photons=200, seed=7, save_to=saved)
    options = ["--photons", "400", "--seed", "7", "--precision", "double", "--out", str(tmp_path)]
    subprocess.run([*COMMAND, str(path), *options], env=SIMULATED, check=True, timeout=120)
    found = load_result(saved)
    assert found.run.device == "cpu + cuda, double precision"
    assert_same_bits(found, trace(lamp, photons=400, seed=7))


@pytest.mark.parametrize("name", ["trace_range", "trace_polarised_range"])
def test_the_kernel_is_single_throughout_for_a_program_in_single_precision(name):
    from photonsim.kernel import tally

    lamp = photonsim.load_scene(ROOT / "tests" / "scene" / "all_kinds.toml")
    compiled = Compiled(lamp)
    program = in_precision(compiled.program, "single")
    maps = Maps._make(np.zeros(shape, np.int64) for shape in compiled.map_shapes)
    rows, lost = np.zeros((1, compiled.row_width), np.int64), np.zeros(17, np.int64)
    one = np.uint64(1)
    # Compiled here and now: of code that comes from the cache numba has no text to show.
    fresh = numba.njit(**OPTIONS)(getattr(tally, name))
    fresh(program, one, one, 1000, np.uint64(20), rows, maps, lost, no_flights(np.float32))
    assert rows[0, ROW_FATES:].sum() == 1000
    (code,) = fresh.inspect_llvm().values()
    widened = [line for line in code.splitlines() if " fmul " in line or " fadd " in line]
    assert widened
    assert not [line for line in widened if "double" in line]


@pytest.mark.parametrize(
    ("real_bytes", "layers", "expected"), [(4, 16, 8), (8, 16, 6), (4, 128, 6)]
)
def test_a_block_has_as_many_warps_as_its_shared_memory_holds(real_bytes, layers, expected):
    # 48 kB are there without asking: CUDA C++ Programming Guide, technical specifications.
    # 41,968 bytes is what ptxas found in a block of 8 warps for 16 layers in single precision.
    from photonsim.kernel.cuda_tally import warps_that_fit

    columns = ROW_FATES - FIRST_ARRIVAL + codes.layer_fate(layers, 0)
    assert warps_that_fit(layers, 16, 1, columns, real_bytes) == expected


def test_what_cannot_be_had_is_refused_in_a_sentence():
    with pytest.raises(ResultError, match="abacus"):
        trace(scene("a"), photons=10, device="abacus")
    with pytest.raises(ResultError, match="triple"):
        in_precision(build_program(scene("a")), "triple")


@pytest.mark.parametrize("hidden", ["", "sys.modules['numba.cuda'] = None; "])
def test_without_a_gpu_the_command_says_so(hidden):
    script = f"import sys; {hidden}from photonsim.cli import main; main()"
    arguments = ["trace", str(ROOT / "scenes" / "a_bars.toml"), "--device", "cuda"]
    # An empty list of visible devices hides a GPU that is there.
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script, *arguments, "--photons", "1"],
        env=os.environ | {"PYTHONPATH": str(ROOT), "CUDA_VISIBLE_DEVICES": ""},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 2
    assert "no GPU can be used; trace with --device cpu" in done.stderr
    assert "Traceback" not in done.stderr
