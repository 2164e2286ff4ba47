"""A write-up as one HTML page that needs nothing else: pictures lie in it as data."""

from __future__ import annotations

import base64
from collections.abc import Mapping

import jinja2

from photonsim.report.content import Picture, WriteUp
from photonsim.words.escaping import visible


def as_html(write_up: WriteUp, files: Mapping[str, bytes]) -> str:
    """Return the page; `files` holds each picture's file by its name. Scenes' words are escaped."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("photonsim.report", ""),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        # A macro gives markup, whose words have been through here.
        finalize=lambda value: visible(value) if type(value) is str else value,
        trim_blocks=True,
        lstrip_blocks=True,
    )

    def data(picture: Picture) -> str:
        content = base64.b64encode(files[picture.name]).decode("ascii")
        return f"data:image/png;base64,{content}"

    environment.filters["data"] = data
    return environment.get_template("page.html").render(write_up=write_up)
