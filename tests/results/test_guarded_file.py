"""Nothing outside a file is read, whatever the file asks for, and nothing that can't be a file.

The attacks are the ones that HDF5's own manual describes as features: external storage, external
and soft links, virtual datasets, references (HDF5 User Guide, chapters on datasets and groups).
"""

import json
import os

import h5py
import numpy as np
import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.engine import trace
from photonsim.results import MAPS, ResultError, load_result
from photonsim.results.files.file import FORMAT as RESULT
from photonsim.results.files.seal import seal
from photonsim.results.files.study_table import FIGURE, PARAMETER, Column, StudyTable
from photonsim.results.files.table_file import FORMAT as TABLE
from photonsim.results.files.table_file import load_table, save_table
from tests.shipped import scene

SECRET = b"the secret of another file, 48 bytes of it......"
# In each kind of file: the dataset that is swapped, how to read the file, its format.
KINDS = {
    "result": ("panel/collected", load_result, RESULT),
    "table": ("columns/train.film.z_mm/value", load_table, TABLE),
}


@pytest.fixture(scope="module")
def small():
    return trace(scene("d", a="columns = 480 => columns = 16", b="rows = 272 => rows = 9"), 30_000)


def a_table(kind="sweep", **changes):
    columns = (
        Column("train.film.z_mm", "film z", "mm", PARAMETER, np.array([8.0, 10.0, 12.0])),
        Column("collected_lm", "collected", "lm", FIGURE, np.array([1.0, 2.0, 3.0]), np.ones(3)),
    )
    given = {"title": "ridge", "scene": scene("d").text, "columns": columns, "facts": {}}
    return StudyTable(**({"kind": kind} | given | changes))


@pytest.fixture(params=sorted(KINDS))
def file(request, small, tmp_path):
    """A good file of each kind: its path, the dataset to be swapped, its reader and its format."""
    path = tmp_path / "good.h5"
    if request.param == "result":
        small.save(path)
    else:
        save_table(a_table(), path)
    name, read, what = KINDS[request.param]
    read(path)
    return path, name, read, what


def outside(path):
    secret = path.parent / "secret"
    secret.write_bytes(SECRET)
    other = path.parent / "other.h5"
    with h5py.File(other, "w") as made:
        made["x"] = np.frombuffer(SECRET, np.float64)
    return secret, other


def external_storage(file, name, path):
    file.create_dataset(name, (6,), "f8", external=[(str(outside(path)[0]), 0, 48)])


def external_link(file, name, path):
    file[name] = h5py.ExternalLink(str(outside(path)[1]), "/x")


def soft_link(file, name, path):
    file[name] = h5py.SoftLink("/row" if "row" in file else "/panel/incident")


def second_name(file, name, path):
    file[name] = file["row" if "row" in file else "panel/incident"]


def virtual(file, name, path):
    layout = h5py.VirtualLayout((6,), "f8")
    layout[:] = h5py.VirtualSource(str(outside(path)[1]), "x", (6,))
    file.create_virtual_dataset(name, layout)


def reference(file, name, path):
    file.create_dataset(name, data=np.array([file.ref] * 3, dtype=h5py.ref_dtype))


def lists(file, name, path):
    file.create_dataset(name, (3,), h5py.vlen_dtype(np.float64))


def other_filter(file, name, path):
    file.create_dataset(name, data=np.zeros((64, 64)), compression="gzip")


def huge(file, name, path):
    file.create_dataset(name, (400_000_000,), "f8", chunks=(1024,))


def a_group(file, name, path):
    file.create_group(name)


@pytest.mark.parametrize(
    ("attack", "word"),
    [
        (external_storage, "lies in another file"),
        (external_link, "is a link"),
        (soft_link, "is a link"),
        (second_name, "has two names"),
        (virtual, "put together from other files"),
        (reference, "nothing that"),
        (lists, "nothing that"),
        (other_filter, "packed"),
        (huge, "larger|shape|real numbers|whole numbers"),
        (a_group, "damaged"),
    ],
)
def test_nothing_outside_the_file_is_read_and_nothing_beyond_its_size(file, attack, word):
    path, name, read, what = file
    with h5py.File(path, "a") as opened:
        del opened[name]
        attack(opened, name, path)
    seal(path, what)
    with pytest.raises(ResultError, match=word) as told:
        read(path)
    assert "good.h5" in str(told.value)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such thing on this system")
@pytest.mark.parametrize("attack", [external_storage, virtual, external_link])
def test_what_lies_outside_is_not_even_opened(file, attack):
    path, name, read, what = file
    with h5py.File(path, "a") as opened:
        del opened[name]
        attack(opened, name, path)
    seal(path, what)
    for there in ("secret", "other.h5"):  # who opened a pipe would wait without end
        (path.parent / there).unlink()
        os.mkfifo(path.parent / there)
    with pytest.raises(ResultError):
        read(path)


@pytest.mark.parametrize("attack", [external_storage, virtual, external_link])
def test_a_page_to_publish_holds_nothing_of_other_files(tmp_path, attack):
    path = tmp_path / "sweep.h5"
    save_table(a_table(), path)
    with h5py.File(path, "a") as opened:
        del opened["columns/collected_lm/value"]
        attack(opened, "columns/collected_lm/value", path)
    seal(path, TABLE)
    lamp = tmp_path / "lamp.toml"
    lamp.write_text(scene("a").text, "utf-8")
    asked = ["report", str(lamp), "--photons", "1000", "--study", str(path), "--out", str(tmp_path)]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 2, done.output
    assert not (tmp_path / "report.html").exists()


def test_rows_that_all_point_at_one_long_text_do_not_fill_memory(tmp_path):
    path = tmp_path / "sweep.h5"
    words = Column("remark", "remark", "", "fact", np.array(["x" * 100_000] * 3))
    save_table(a_table(columns=(*a_table().columns, words)), path)
    content = path.read_bytes()
    with h5py.File(path, "a") as opened:
        del opened["row"], opened["columns/remark/value"]
        opened["row"] = np.arange(200_000)
        opened.create_dataset("columns/remark/value", (200_000,), h5py.string_dtype("utf-8"))
        opened["columns/remark/value"][:] = np.array(["x"] * 200_000, object)
    assert len(content) < 1_000_000
    seal(path, TABLE)
    with pytest.raises(ResultError, match="shape"):  # the other columns have three rows
        load_table(path)


@pytest.mark.parametrize(
    ("table", "word"),
    [
        (a_table(kind="magic"), "kind 'magic'"),
        (a_table(title="a\x1b[2J"), "control"),
        (a_table(columns=()), "no designs"),
        (a_table(columns=a_table().columns[:1]), "no figures"),
        (a_table(columns=a_table().columns[1:]), "nothing varies"),
        (a_table(kind="tune", facts={"goal collected_lm": 1.0, "sense": 1.0}), "within_limits"),
        (a_table(kind="front"), "on_front"),
        (a_table(kind="tolerance"), "share collected_lm"),
        (a_table(facts={"yield": 1e300}), "fact 'yield'"),
    ],
)
def test_a_table_that_its_own_figures_could_not_be_drawn_from_is_refused(tmp_path, table, word):
    path = tmp_path / "table.h5"
    save_table(table, path)
    with pytest.raises(ResultError, match=word):
        load_table(path)


def changed(path, name, change):
    with h5py.File(path, "a") as opened:
        kept = opened[name][()]
        del opened[name]
        opened[name] = change(kept)
    seal(path, RESULT)


@pytest.mark.parametrize(
    ("landing", "word"),
    [
        ({}, "suit"),
        ({"place": [1.0]}, "suit"),
        ({"place": [0.0] * 4, "slope": [0.0] * 4, "half_mm": [1.0] * 3}, "suit"),
        ({"place": [0.0] * 4, "slope": [0.0] * 4, "half_mm": [0.0] * 81}, "without a size"),
        ({"place": [1e300] * 4, "slope": [0.0] * 4, "half_mm": [1.0] * 81}, "world"),
    ],
)
def test_a_landing_that_does_not_suit_the_scene_is_refused(small, tmp_path, landing, word):
    small.save(tmp_path / "lamp.h5")

    def with_landing(kept):
        return json.dumps(json.loads(kept) | {"landing": landing}).encode()

    changed(tmp_path / "lamp.h5", "run", lambda kept: np.bytes_(with_landing(kept)))
    with pytest.raises(ResultError, match=word):
        load_result(tmp_path / "lamp.h5")


@pytest.mark.parametrize("group", [b"stop", b"guard", b"heaven"])
def test_fates_of_kinds_that_no_lamp_has_are_refused(small, tmp_path, group):
    small.save(tmp_path / "lamp.h5")
    changed(tmp_path / "lamp.h5", "fates/group", lambda kept: np.array([group] * len(kept)))
    with pytest.raises(ResultError, match="kinds of fates"):
        load_result(tmp_path / "lamp.h5")


def test_an_empty_result_can_be_read(small, tmp_path):
    import dataclasses

    none = dataclasses.replace(
        small.tallies,
        photons=0,
        batches={name: array[:0] for name, array in small.tallies.batches.items()},
        **{name: getattr(small.tallies, name) * 0 for name in MAPS},
    )
    dataclasses.replace(small, tallies=none).save(tmp_path / "lamp.h5")
    assert load_result(tmp_path / "lamp.h5").photons == 0
