"""Faults of figures: what is drawn where, how large, in which unit and colour."""

from tests.planted.fault import Fault

MAPS = "tests/figures/test_lopsided_maps.py::"
DRAWINGS = "tests/figures/test_lopsided_drawings.py::"
TRUE = "tests/figures/test_drawn_true.py::"
SHEET = "tests/figures/test_cutting_sheet.py::"

OF_FIGURES = (
    Fault(
        "maps drawn upside down",
        "figures/panel/axes.py",
        "x, y, np.ma.masked_invalid(values), cmap",
        "x, y, np.ma.masked_invalid(values[::-1]), cmap",
        (f"{MAPS}test_maps_are_bright_where_the_bar_stands",),
    ),
    Fault(
        "the nine values written from the top down",
        "figures/panel/maps.py",
        "(row - 1) / 3 * panel.active_height_mm",
        "(1 - row) / 3 * panel.active_height_mm",
        (f"{MAPS}test_the_greatest_of_the_nine_values_stands_at_the_upper_right",),
    ),
    Fault(
        "each of the two maps on a colour scale of its own",
        "figures/panel/maps.py",
        "show_blocks(axes, result, relative[kind], blocks[kind], top)",
        "show_blocks(axes, result, relative[kind], blocks[kind], float(relative[kind].max()))",
        (f"{TRUE}test_both_maps_stand_on_one_scale",),
    ),
    Fault(
        "each design's map on a colour scale of its own",
        "figures/study/comparison.py",
        "show_blocks(axes, result, values, across, top)",
        "show_blocks(axes, result, values, across, float(values.max()))",
        (f"{TRUE}test_maps_of_all_designs_stand_on_one_scale",),
    ),
    Fault(
        "arrows of direction with x and y swapped",
        "figures/panel/spread.py",
        "        np.ma.masked_invalid(angle_x),\n        np.ma.masked_invalid(angle_y),",
        "        np.ma.masked_invalid(angle_y),\n        np.ma.masked_invalid(angle_x),",
        (f"{MAPS}test_arrows_lead_away_from_the_bar",),
    ),
    Fault(
        "the vertical plane's intensity drawn for the horizontal one",
        "figures/panel/intensity.py",
        '    ("plane_x", "half_intensity_x_deg", "Horizontal plane (x, z)", "x"),\n'
        '    ("plane_y", "half_intensity_y_deg", "Vertical plane (y, z)", "y"),',
        '    ("plane_y", "half_intensity_x_deg", "Horizontal plane (x, z)", "x"),\n'
        '    ("plane_x", "half_intensity_y_deg", "Vertical plane (y, z)", "y"),',
        (f"{MAPS}test_each_plane_has_its_own_angles_and_their_signs",),
    ),
    Fault(
        "a profile drawn over the panel's other side in mm",
        "figures/panel/profile.py",
        'return result.optics.width_mm if axis == "x" else result.optics.height_mm',
        'return result.optics.height_mm if axis == "x" else result.optics.width_mm',
        (f"{MAPS}test_profile_has_its_peak_over_the_bar_and_the_strips_where_they_lie",),
    ),
    Fault(
        "the band of a count is that of one batch",
        "figures/panel/counting.py",
        "np.sqrt(variance * tallies.photons / tallies.batch_photons)",
        "np.sqrt(variance)",
        (f"{TRUE}test_error_of_a_count_is_that_of_the_whole_run",),
    ),
    Fault(
        "fields of the stop with top and bottom swapped",
        "figures/screen/stop.py",
        'ROWS = {"top": (6, 7, 8), "": (3, 4, 5), "bottom": (0, 1, 2)}',
        'ROWS = {"top": (0, 1, 2), "": (3, 4, 5), "bottom": (6, 7, 8)}',
        (f"{MAPS}test_stop_is_filled_on_the_side_away_from_the_bar",),
    ),
    Fault(
        "centroid shift arrows that point to where the light came from",
        "figures/screen/blur.py",
        "x, y, dx, dy, scale=scale",
        "x, y, -dx, -dy, scale=scale",
        (f"{MAPS}test_centroid_shift_points_away_from_the_bar_where_the_screen_stands_too_far",),
    ),
    Fault(
        "values of a blur map written at the place mirrored about its diagonal",
        "figures/screen/blur.py",
        "axes.text(x[j], y[i], words[i][j],",
        "axes.text(x[j], y[i], words[j][i],",
        (f"{TRUE}test_words_on_a_blur_map_are_those_of_their_place",),
    ),
    Fault(
        "contrast of level lines drawn for upright ones",
        "figures/screen/line_contrast.py",
        '_curves(panes[0], view, "x", "Upright lines")',
        '_curves(panes[0], view, "y", "Upright lines")',
        (f"{MAPS}test_lines_blur_across_the_way_that_the_light_is_spread",),
    ),
    Fault(
        "preview lit upside down",
        "figures/screen/appearance.py",
        "up = 1 if view.projection.magnification > 0.0 else -1",
        "up = 1",
        (f"{DRAWINGS}test_preview_is_bright_where_the_bar_s_image_lies",),
    ),
    Fault(
        "preview seen from the wrong side of the screen",
        "figures/screen/appearance.py",
        '(screen.watched_from == "front")',
        '(screen.watched_from == "rear")',
        (f"{DRAWINGS}test_preview_is_bright_where_the_bar_s_image_lies",),
    ),
    Fault(
        "preview with an exposure for each design",
        "figures/screen/preview.py",
        "_show(axes, look / white)",
        "_show(axes, look / np.percentile(look, 99.5))",
        (f"{TRUE}test_a_lamp_of_half_the_light_looks_half_as_bright",),
    ),
    Fault(
        "side view from above drawn as the one from the side",
        "figures/lamp/side_view_parts.py",
        'SIDES = {"x": 0, "y": 1}',
        'SIDES = {"x": 1, "y": 0}',
        (f"{DRAWINGS}test_side_view_draws_each_path_where_it_went",),
    ),
    Fault(
        "a mounting's letter mirrored upright instead of level",
        "figures/lamp/orientation.py",
        "Polygon(LETTER * signs * 0.52",
        "Polygon(LETTER * signs[::-1] * 0.52",
        (f"{DRAWINGS}test_every_mounting_is_drawn_as_the_rays_go",),
    ),
    Fault(
        "bars of the ledger as long as the bare share under an axis in per cent",
        "figures/lamp/ledger.py",
        "            place,\n            100.0 * share.value,",
        "            place,\n            share.value,",
        (f"{TRUE}test_bars_of_the_ledger_are_as_long_as_their_share",),
    ),
    Fault(
        "errors of shares of the variance not in per cent like the shares",
        "figures/study/tolerance.py",
        'errors = [100.0 * table.facts[f"share error',
        'errors = [table.facts[f"share error',
        (f"{TRUE}test_shares_of_the_variance_are_drawn_in_per_cent",),
    ),
    Fault(
        "bands of one error that say two",
        "figures/study/curves.py",
        "BAND = 2.0",
        "BAND = 1.0",
        (f"{MAPS}test_curve_of_a_study_has_a_band_of_two_errors_in_the_order_of_its_parameter",),
    ),
    Fault(
        "map of a study turned over",
        "figures/study/curves.py",
        "axes.pcolormesh(x, y, shown, cmap",
        "axes.pcolormesh(x, y, shown[::-1], cmap",
        (f"{MAPS}test_map_of_a_study_has_each_value_at_its_parameters",),
    ),
    Fault(
        "an inch of 25 mm on the cutting sheet",
        "figures/sheets/cutting_sheet.py",
        "MM_PER_INCH = 25.4",
        "MM_PER_INCH = 25.0",
        (f"{SHEET}test_svg_pages_measure_true",),
    ),
    Fault(
        "a page too few for a large piece",
        "figures/sheets/page_layout.py",
        "max(1, math.ceil((size - OVERLAP_MM) / (space - OVERLAP_MM)))",
        "max(1, math.floor((size - OVERLAP_MM) / (space - OVERLAP_MM)))",
        (f"{TRUE}test_a_piece_is_never_mirrored_and_always_printed_in_whole",),
    ),
    Fault(
        "pages of a large piece that do not overlap",
        "figures/sheets/page_layout.py",
        "step_x, step_y = room[0] - OVERLAP_MM, room[1] - OVERLAP_MM",
        "step_x, step_y = room[0], room[1]",
        (f"{SHEET}test_tiles_meet_in_their_register_marks",),
    ),
    Fault(
        "a turned piece drawn mirrored",
        "figures/sheets/page_layout.py",
        "x, y = (-point[1], point[0]) if self.turned else point",
        "x, y = (point[1], point[0]) if self.turned else point",
        (f"{TRUE}test_a_piece_is_never_mirrored_and_always_printed_in_whole",),
    ),
)
