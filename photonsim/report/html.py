"""A write-up as one HTML page that needs nothing else: pictures lie in it as data."""

from __future__ import annotations

import base64

import jinja2

from photonsim.figures.saving import figure_bytes
from photonsim.report.content import Picture, WriteUp

MEDIA_TYPES = {"png": "image/png", "svg": "image/svg+xml"}
# Sharp on a phone and on paper at the page's width, and a third of the bytes of 300.
DOTS_PER_INCH = 180


def as_html(write_up: WriteUp) -> str:
    """Return the page. What comes from scenes is escaped."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("photonsim.report", ""),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["data"] = _data
    return environment.get_template("page.html").render(write_up=write_up)


def _data(picture: Picture) -> str:
    content = figure_bytes(picture.figure, picture.form, DOTS_PER_INCH)
    return f"data:{MEDIA_TYPES[picture.form]};base64,{base64.b64encode(content).decode('ascii')}"
