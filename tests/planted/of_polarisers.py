"""Faults of polarising sheets and of the panel's axis."""

from tests.planted.fault import Fault

SHEETS = "tests/physics/test_polarisers.py::"
PANEL = "tests/physics/test_polarised_panel.py::"
FIELDS = f"{SHEETS}test_states_behind_a_sheet_are_those_of_fields_in_the_room"
LEAK = f"{SHEETS}test_slanting_light_through_crossed_sheets"
TWICE = f"{PANEL}test_polarised_light_counts_twice_or_not_at_all"
POLARISER = "kernel/reflective_polariser.py"

OF_POLARISERS = (
    Fault(
        "a polariser's pass axis projected, instead of k × c",
        POLARISER,
        "    return inside, index, cross_product(inside, blocked)",
        "    across = cross_product(inside, (-blocked[1], blocked[0], ZERO))\n"
        "    return inside, index, cross_product(across, inside)",
        (FIELDS,),
    ),
    Fault(
        "polarisers that act in air",
        "program/build.py",
        "            self._axis(number, codes.POLARISER_X, part.pass_deg)\n",
        "            self._axis(number, codes.POLARISER_X, part.pass_deg)\n"
        "            self.index[number] = 1.0\n",
        (LEAK,),
    ),
    Fault(
        "a polariser's axis the other way round",
        "program/build.py",
        "= math.sin(turn), -math.cos(turn)",
        "= math.sin(turn), math.cos(turn)",
        (f"{SHEETS}test_malus_polarised",),
    ),
    Fault(
        "U and V behind a polariser not shrunk by the root of both shares",
        POLARISER,
        "(on, on_across, math.sqrt(on * on_across))",
        "(on, on_across, on)",
        (FIELDS,),
    ),
    Fault(
        "what a polariser turns back without a mirror's change of hand",
        POLARISER,
        "ONE if (photon.w > ZERO) == upwards else -ONE",
        "ONE",
        (FIELDS,),
    ),
    Fault(
        "the half that a panel takes of unpolarised light counted twice",
        "kernel/panel.py",
        "    counts = short(1)\n",
        "    counts = short(1 if uniform_as(q, next_state(photon.rng)) < 0.5 else 0)\n",
        (f"{PANEL}test_recycling",),
    ),
    Fault(
        "a photon that counts twice forgotten in the directions of the collected light",
        "kernel/counting.py",
        "count_directions(counts, edges, guess, goes_on, passed, photon)",
        "count_directions(counts, edges, guess, goes_on, weight, photon)",
        (TWICE,),
    ),
    Fault(
        "a photon that counts twice forgotten in the squares of the weights",
        "kernel/counting.py",
        "        excess = passed * passed - passed",
        "        excess = passed * weight - passed",
        (TWICE,),
    ),
    Fault(
        "light that comes to the panel again counted anew",
        "kernel/history.py",
        "                            has_met_panel(seen, flight),\n",
        "                            False,\n",
        (f"{PANEL}test_light_that_comes_to_the_pixels_again_counts_no_more",),
    ),
)
