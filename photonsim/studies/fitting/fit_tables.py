"""A fit as text for the terminal and as CSV."""

from __future__ import annotations

from photonsim.studies.fitting.fit import BAD_FIT_BELOW, Fit
from photonsim.words.escaping import csv_text
from photonsim.words.text import aligned, number, paragraph

# So far out nobody knows the law of their readings' errors.
LEAST_SHARE = 1e-4


def as_text(fit: Fit) -> str:
    """Return the fitted numbers with their limits, how well they explain the readings, warnings."""
    found = fit.likelihood
    percent = f"{100.0 * found.confidence:g} %"
    rows = [("number", "was", "fitted", f"{percent} limits", "unit")]
    rows += [
        (fitted.path, f"{fitted.start:.4g}", *fitted.words(), fitted.unit) for fitted in fit.fitted
    ]
    told = f"{len(fit.readings)} readings"
    if found.degrees > 0:
        told += (
            f": chi-squared {found.chi_squared:.1f} for {found.degrees} degrees of freedom; luck "
            f"alone does worse {_share(found.chance)} of the time."
        )
        if found.chance >= BAD_FIT_BELOW:
            told += " The fitted scene explains them."
    else:
        told += ", as many facts as numbers: nothing is left to check the scene by."
    table = aligned(rows, left=range(5), ruled=True)
    warnings = (paragraph(f"warning: {warning}", "", "  ") for warning in fit.warnings)
    return "\n".join([table, "", paragraph(told), *warnings])


def _share(chance: float) -> str:
    few = f"less than {100.0 * LEAST_SHARE:g}"
    return f"{few if chance < LEAST_SHARE else number(100.0 * chance, 2)} %"


def residuals_csv(fit: Fit) -> str:
    """Return every reading with what the fitted scene predicts and what is left, as CSV."""
    heads = ["place", "part", "x_mm", "y_mm", "angle_deg", "lux", "uncertainty_lux"]
    rows: list[list[object]] = [[*heads, "fitted_lux", "fitted_error_lux", "residual_errors"]]
    found = fit.likelihood
    for reading, value, error, left in zip(
        fit.readings, found.predictions, found.prediction_errors, fit.residuals, strict=True
    ):
        cells = [getattr(reading, head) for head in heads]
        rows.append([*cells, f"{value:.6g}", f"{error:.3g}", f"{left:.2f}"])
    return csv_text(rows)
