"""LM-63 tables: the standard's sample, integrals known by hand, every symmetry, broken files."""

import math
from pathlib import Path

import numpy as np
import pytest

from photonsim.scene import SceneError, load_scene, parse_scene
from photonsim.scene.lm63 import Lm63Error, read_lm63, zone_flux
from photonsim.scene.writing import to_toml

HERE = Path(__file__).parent
MEASURED = HERE.parent.parent / "scenes" / "measured"

# The sample of ANSI/IESNA LM-63-02's annex, as quoted in public test code, without its tilt table.
SAMPLE = """IESNA:LM-63-2002
[TEST] sample
TILT=NONE
1 50000 1 5 3 1 1 0.5 0.6 0
1.0 1.0 495
0 22.5 45 67.5 90
0 45 90
100000 50000 25000 10000 5000
100000 35000 16000 8000 3000
100000 20000 10000 5000 1000
"""


def file_of(vertical, horizontal, planes, head="IESNA:LM-63-2002\n", lumens=-1.0, factors="1 1"):
    rows = "\n".join(" ".join(f"{value:.12g}" for value in plane) for plane in planes)
    return (
        f"{head}TILT=NONE\n1 {lumens} 1 {len(vertical)} {len(horizontal)} 1 2 0 0 0\n{factors} 10\n"
        f"{' '.join(f'{angle:.12g}' for angle in vertical)}\n"
        f"{' '.join(f'{angle:.12g}' for angle in horizontal)}\n{rows}\n"
    )


def test_sample_of_the_standard():
    """Its integral is derived for intensities linear between the angles: 98 595.71 lm."""
    table = read_lm63(SAMPLE)
    assert table.claimed_lm == 50_000.0
    assert table.input_watts == 495.0
    assert table.labels == ("[TEST] sample",)
    assert list(table.horizontal_deg) == [0, 45, 90, 135, 180, 225, 270, 315, 360]
    assert list(table.candela[:, 1]) == [5e4, 35e3, 2e4, 35e3, 5e4, 35e3, 2e4, 35e3, 5e4]
    assert table.flux_lm == pytest.approx(98_595.71, abs=0.01)


@pytest.mark.parametrize(
    ("step", "lumens"), [(10.0, 3133.593), (5.0, 3139.597), (2.5, 3141.094), (1.0, 3141.513)]
)
def test_lambertian_flux_of_linear_samples(step, lumens):
    """I = 1000 cos t gives 1000 pi lm; sampled and joined by lines a little less (derived)."""
    vertical = np.arange(0.0, 90.0 + step / 2, step)
    plane = 1000.0 * np.cos(np.radians(vertical))
    assert read_lm63(file_of(vertical, [0.0], [plane])).flux_lm == pytest.approx(lumens, abs=6e-4)


def test_zonal_constants():
    """Even intensity of 1 cd: 2 pi (cos a - cos b) in zones of 10°, IES Lighting Handbook."""
    vertical = np.arange(0.0, 91.0, 10.0)
    zones = zone_flux(vertical, np.array([0.0, 360.0]), np.ones((2, 10)))[0]
    handbook = [0.0955, 0.2835, 0.4629, 0.6282, 0.7744, 0.8972, 0.9926, 1.0579, 1.0911]
    assert zones == pytest.approx(handbook, abs=5e-5)


def test_flux_within_an_angle():
    """Lambertian: the share within t is sin² t, 1/4 at 30°, 1/2 at 45° (identity)."""
    vertical = np.arange(0.0, 90.5, 0.5)
    table = read_lm63(file_of(vertical, [0.0], [np.cos(np.radians(vertical))]))
    assert table.flux_within_lm(30.0) / table.flux_lm == pytest.approx(0.25, abs=1e-5)
    assert table.flux_within_lm(45.0) / table.flux_lm == pytest.approx(0.50, abs=1e-5)


VERTICAL = np.array([0.0, 30.0, 60.0, 90.0])


def lobe(horizontal_deg, symmetry):
    """An intensity with just the symmetry that a range of planes stands for."""
    phi = math.radians(horizontal_deg)
    terms = {
        "quadrant": 0.4 * math.cos(2 * phi),
        "about 0": 0.4 * math.cos(phi) + 0.2 * math.cos(3 * phi),
        "about 90": 0.4 * math.sin(phi) + 0.2 * math.cos(2 * phi),
        "none": 0.4 * math.sin(phi) + 0.3 * math.cos(phi) + 0.1 * math.sin(2 * phi),
    }
    return (1.0 + terms[symmetry]) * np.array([10.0, 8.0, 3.0, 0.0])


@pytest.mark.parametrize(
    ("first", "last", "symmetry"),
    [
        (0, 90, "quadrant"),
        (0, 180, "about 0"),
        (90, 270, "about 90"),
        (0, 360, "none"),
    ],
)
@pytest.mark.parametrize("step", [15, 22.5, 45])
def test_symmetric_planes_are_expanded(first, last, symmetry, step):
    """The planes of each range stand for a whole turn: IESNA LM-63-02, section 5.12 (memory)."""
    given = np.arange(first, last + step / 2, step)
    table = read_lm63(file_of(VERTICAL, given, [lobe(h, symmetry) for h in given]))
    assert table.horizontal_deg == pytest.approx(np.arange(0.0, 361.0, step))
    expected = [lobe(h, symmetry) for h in table.horizontal_deg]
    assert table.candela == pytest.approx(np.array(expected), abs=1e-9)


def test_range_about_90_without_a_plane_at_0():
    given = [90.0, 150.0, 210.0, 270.0]
    table = read_lm63(file_of(VERTICAL, given, [lobe(h, "about 90") for h in given]))
    assert list(table.horizontal_deg) == [0.0, 30.0, 90.0, 150.0, 210.0, 270.0, 330.0, 360.0]
    assert table.candela[0] == pytest.approx((table.candela[1] + table.candela[6]) / 2)
    assert table.candela[-1] == pytest.approx(table.candela[0])


@pytest.mark.parametrize(
    ("head", "form", "second_counts"),
    [
        ("A LAMP OF 1988\nNO KEYWORDS HERE\n", "1986", True),
        ("", "1986", True),
        ("IESNA91\n[TEST] a\n", "1991", True),
        ("IESNA:LM-63-1995\n[TEST] a\n", "1995", False),
        ("IESNA:LM-63-2002\n[TEST] a\n", "2002", False),
        ("IES:LM-63-2019\n[TEST] a\n", "2019", False),
        ("\ufeffiesna:lm-63-2002\n[TEST] a\n", "2002", False),
    ],
)
def test_forms_of_the_standard(head, form, second_counts):
    """The second factor, ballast-lamp, counts until 1991; from 1995 it is kept for later use."""
    plane = [[100.0, 90.0, 50.0, 0.0]]
    table = read_lm63(file_of(VERTICAL, [0.0], plane, head, lumens=700.0, factors="0.9 0.5"))
    assert table.form == form
    assert table.candela[0, 0] == pytest.approx(100.0 * 0.9 * (0.5 if second_counts else 1.0))
    assert table.claimed_lm == 700.0


def test_numbers_may_stand_anywhere_and_between_commas():
    wild = SAMPLE.replace("100000 50000 25000", "100000,50000,\n\n 2.5e4").replace("\n", "\r\n")
    assert read_lm63(wild).flux_lm == pytest.approx(98_595.71, abs=0.01)


BREAKS = [
    ("TILT=NONE", "TILT=INCLUDE", "line 3: 'TILT=INCLUDE'"),
    ("TILT=NONE", "TILT=lamp.tlt", "only TILT=NONE"),
    ("TILT=NONE\n", "", "no line TILT=NONE"),
    ("IESNA:LM-63-2002", "IESNA:LM-63-2099", "line 1: 'IESNA:LM-63-2099' is no form"),
    ("3 1 1 0.5", "3 2 1 0.5", "line 4: the photometry is of type B"),
    ("3 1 1 0.5", "3 3 1 0.5", "type A"),
    ("3 1 1 0.5", "3 1 4 0.5", "the units is 4"),
    ("1 5 3", "1 5.5 3", "the number of vertical angles is 5.5"),
    ("1 5 3", "1 5 0", "the number of horizontal angles is 0"),
    ("1 5 3", "1 99999 3", "the number of vertical angles is 99999"),
    ("1 5 3", "0 5 3", "the candela multiplier is 0"),
    ("1.0 1.0", "-1.0 1.0", "line 5: the ballast factor is -1"),
    ("0 22.5", "10 22.5", "the vertical angles run from 10°"),
    ("67.5 90\n", "67.5 95\n", "the vertical angles run from 0° to 95°"),
    ("22.5 45", "45 22.5", "line 6: vertical angle 3 is 22.5° after 45°"),
    ("0 45 90\n", "0 45 80\n", "line 7: the horizontal angles run from 0° to 80°"),
    ("0 45 90\n", "90 45 0\n", "horizontal angle 2 is 45° after 90°"),
    ("35000", "-35000", "intensity 2 of plane 2 is -35000"),
    ("35000", "bright", "line 9: 'bright' is no number; intensity 2 of plane 2 belongs here"),
    ("35000", "nan", "'nan' is no number"),
    ("35000", "1_000", "'1_000' is no number"),
    (" 1000\n", "\n", "the file ends where intensity 5 of plane 3 should stand"),
    (" 1000\n", " 1000 7\n", "line 10: '7' stands after the last intensity"),
    ("[TEST]", "\0[TEST]", "no text file"),
]


@pytest.mark.parametrize(("old", "new", "sentence"), BREAKS, ids=[b[2][:40] for b in BREAKS])
def test_broken_files_are_told_in_one_sentence(old, new, sentence):
    assert old in SAMPLE
    with pytest.raises(Lm63Error) as caught:
        read_lm63(SAMPLE.replace(old, new, 1))
    assert sentence in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("text", ["", "\n", "TILT=NONE", "a lamp", "IESNA91"])
def test_almost_nothing_is_no_table(text):
    with pytest.raises(Lm63Error):
        read_lm63(text)


def test_dark_table_is_refused():
    with pytest.raises(Lm63Error, match="all intensities are 0"):
        read_lm63(file_of(VERTICAL, [0.0], [np.zeros(4)]))


def test_shipped_lamp_agrees_with_what_its_file_claims():
    """An invented lamp: of 540 lm its lens lets 491 out, and the scene says so too."""
    lamp = load_scene(MEASURED / "oval_lamp.toml").emitters["lamp"]
    assert lamp.intensity.claimed_lm == 540.0
    assert lamp.intensity.flux_lm == pytest.approx(lamp.flux_lm, abs=0.5)


# --- Where a scene finds its tables ---------------------------------------------------------------


@pytest.fixture
def bench(tmp_path):
    """A folder with a scene that names lamp.ies, and that file."""
    folder = tmp_path / "lamp"
    folder.mkdir()
    text = (HERE / "backdrop.toml").read_text("utf-8")
    old = next(line for line in text.splitlines() if "flux_lm" in line)
    (folder / "lamp.toml").write_text(
        text.replace(old, f'{old} # as measured\nlm63_file = "lamp.ies"'), "utf-8"
    )
    (folder / "lamp.ies").write_text(SAMPLE, "utf-8")
    return folder


def rename(folder, name):
    path = folder / "lamp.toml"
    path.write_text(path.read_text("utf-8").replace('"lamp.ies"', f"'{name}'"), "utf-8")
    return path


def test_text_of_the_scene_holds_the_table(bench):
    scene = load_scene(bench / "lamp.toml")
    assert "# as measured" in scene.text
    assert "lm63_file" not in scene.text
    assert "100000 35000 16000 8000 3000" in scene.text
    assert parse_scene(scene.text) == scene
    assert parse_scene(to_toml(scene)) == scene


def test_table_in_a_folder_below_is_found(bench):
    (bench / "tables").mkdir()
    (bench / "lamp.ies").rename(bench / "tables" / "lamp.ies")
    assert load_scene(rename(bench, "tables/lamp.ies")).emitters
    assert load_scene(bench / "lamp.toml").text


@pytest.mark.parametrize(
    ("name", "sentence"),
    [
        ("../lamp.ies", "must name a file beside"),
        ("..\\lamp.ies", "must name a file beside"),
        ("/etc/passwd", "must name a file beside"),
        ("C:\\lamp.ies", "must name a file beside"),
        ("C:lamp.ies", "must name a file beside"),
        ("", "must name a file beside"),
        (".", "this is a folder"),
        ("lost.ies", "no such file beside the scene file"),
    ],
)
def test_table_is_looked_up_beside_the_scene_and_nowhere_above(bench, name, sentence):
    (bench.parent / "lamp.ies").write_text(SAMPLE, "utf-8")
    with pytest.raises(SceneError) as caught:
        load_scene(rename(bench, name))
    (mistake,) = caught.value.mistakes
    assert mistake.path == "emitters.bars.lm63_file"
    assert sentence in str(mistake)


def test_link_out_of_the_folder_is_not_followed(bench):
    (bench.parent / "outside.ies").write_text(SAMPLE, "utf-8")
    try:
        (bench / "link.ies").symlink_to(bench.parent / "outside.ies")
    except OSError:  # some systems reserve links for administrators: nothing to follow there
        return
    with pytest.raises(SceneError, match="by a link"):
        load_scene(rename(bench, "link.ies"))


def test_tables_together_must_fit_in_a_result_file(tmp_path):
    """A hundred groups may each name a file of 1 MB: the fifth table of 0.5 MB is one too many."""
    keywords = "".join(f"[MORE] {'x' * 90}\n" for _ in range(5000))
    (tmp_path / "lobe.ies").write_text(SAMPLE.replace("TILT", keywords + "TILT"))
    groups = "".join(f'[emitters.g{k}]\nlm63_file = "lobe.ies"\n' for k in range(5))
    (tmp_path / "lamp.toml").write_text(groups)
    with pytest.raises(SceneError) as caught:
        load_scene(tmp_path / "lamp.toml")
    (told,) = [str(mistake) for mistake in caught.value.mistakes if "lm63_file" in mistake.path]
    assert told.startswith("emitters.g4.lm63_file") and "larger than 2 MB together" in told


def test_broken_table_is_told_beside_the_other_mistakes(bench):
    (bench / "lamp.ies").write_text(SAMPLE.replace("35000", "-1"), "utf-8")
    path = bench / "lamp.toml"
    path.write_text(path.read_text("utf-8").replace("columns = 12", "columns = 0"), "utf-8")
    with pytest.raises(SceneError) as caught:
        load_scene(path)
    assert [mistake.path for mistake in caught.value.mistakes] == [
        "emitters.bars.lm63_file",
        "emitters.bars.columns",
    ]


def test_scene_without_a_folder_can_not_name_a_file(bench):
    with pytest.raises(SceneError, match="not read from a file"):
        parse_scene((bench / "lamp.toml").read_text("utf-8"))


def test_two_lobes_are_refused(bench):
    path = bench / "lamp.toml"
    path.write_text(path.read_text("utf-8").replace("lm63_file", "cosine_power = 2\nlm63_file"))
    with pytest.raises(SceneError, match=r"cosine_power = 2\.0: stands beside lm63_text"):
        load_scene(path)


def test_lamp_that_shines_backwards_is_refused(bench):
    vertical = [0.0, 90.0, 180.0]
    (bench / "lamp.ies").write_text(file_of(vertical, [0.0], [[1.0, 1.0, 1.0]]), "utf-8")
    with pytest.raises(SceneError, match="50 % of the table's light leaves backwards"):
        load_scene(bench / "lamp.toml")
