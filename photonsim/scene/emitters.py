"""Emitters: groups of equal light sources in rows and columns."""

import math
from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from photonsim.scene.lm63 import IntensityTable, Lm63Error, read_lm63
from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import Flux, Height, Length, Position, Share

Count = Annotated[int, Field(ge=1, le=1_000_000)]

# What is wrong with keys where emitters stand at an edge of a light plate, and where they do not.
OFF_BOARD = dict.fromkeys(
    ("reflectance", "specular_share"),
    (
        "does not belong to emitters on an edge",
        "what comes back to a lit edge and passes it is counted as lost",
    ),
) | dict.fromkeys(
    ("shape", "x_mm", "y_mm", "z_mm", "rows", "pitch_x_mm", "pitch_y_mm"),
    ("belongs to emitters on the board", "along an edge, give pitch_mm and along_mm"),
)
OFF_EDGE = dict.fromkeys(
    ("coupling", "pitch_mm", "along_mm"),
    ("belongs to emitters on an edge", "give the edge of the light plate, or leave it out"),
)

# What a measured table may send backwards, behind the board, and still be one that lies flat on it.
MOST_BACKWARDS = 0.01


class Emitter(SceneModel):
    """A group of equal emitters that face the screen, in a rectangular array.

    Those on an `edge` of a light plate stand in one row along it, and face into the plate.

    >>> from photonsim import Emitter
    >>> bars = Emitter(width_mm=2.8, height_mm=3.5, flux_lm=20, columns=15, pitch_x_mm=6)
    >>> bars.count, bars.pitches_mm
    (15, {'x': 6.0})
    """

    shape: Literal["rectangle", "disc"] = Field(
        default="rectangle", description='the shape of each emitter, "rectangle" or "disc"'
    )
    width_mm: Length | None = Field(
        default=None, description="the width of a rectangular emitter along x in millimetres"
    )
    height_mm: Length | None = Field(
        default=None, description="the height of a rectangular emitter along y in millimetres"
    )
    diameter_mm: Length | None = Field(
        default=None, description="the diameter of a disc emitter in millimetres"
    )
    x_mm: Position = Field(default=0.0, description="x of the array's centre in millimetres")
    y_mm: Position = Field(default=0.0, description="y of the array's centre in millimetres")
    z_mm: Height = Field(
        default=0.0, description="the height of the emitting face above the base in millimetres"
    )
    edge: Literal["-x", "+x", "-y", "+y"] | None = Field(
        default=None,
        description="the edge of the light plate at which the emitters stand and into which they "
        'shine, "-x", "+x", "-y" or "+y"; width, columns and pitch_mm then run along the edge and '
        "the height across its thickness (default: they stand on the board)",
    )
    coupling: Literal["air", "contact"] = Field(
        default="air",
        description='what lies between emitters and edge: "air", or "contact" where clear glue or '
        "silicone joins them",
    )
    pitch_mm: Length | None = Field(
        default=None,
        description="the distance between the centres of two emitters on an edge in millimetres",
    )
    along_mm: Position = Field(
        default=0.0,
        description="x or y of the middle of a row of emitters on an edge in millimetres",
    )
    columns: Count = Field(
        default=1, description="the number of emitters along x, or along the edge"
    )
    rows: Count = Field(default=1, description="the number of emitters along y")
    pitch_x_mm: Length | None = Field(
        default=None, description="the distance between the centres of two columns in millimetres"
    )
    pitch_y_mm: Length | None = Field(
        default=None, description="the distance between the centres of two rows in millimetres"
    )
    flux_lm: Flux = Field(description="the luminous flux of each emitter in lumens")
    cosine_power: float | None = Field(
        default=None,
        ge=0.0,
        le=5000.0,
        description="the power m of the intensity cos^m (default: 1, Lambertian)",
    )
    half_angle_deg: float | None = Field(
        default=None,
        ge=1.0,
        lt=90.0,
        description="the angle in degrees from the axis at which the intensity has halved",
    )
    lm63_file: str | None = Field(
        default=None,
        description="the name of an IES LM-63 file beside the scene file, whose table of "
        "intensities gives the shape of the lobe",
    )
    lm63_text: str | None = Field(
        default=None,
        max_length=1_000_000,
        description="the text of an LM-63 file itself; it takes the place of lm63_file where a "
        "scene is kept in a result",
    )
    lm63_turn_deg: float = Field(
        default=0.0,
        ge=-360.0,
        le=360.0,
        description="the angle in degrees from x towards y of the table's plane of 0°",
    )
    reflectance: Share = Field(
        default=0.5, description="the share that an emitter's face reflects of light that returns"
    )
    specular_share: Share = Field(
        default=0.0, description="the share of that reflected light that leaves as from a mirror"
    )

    def contradictions(self) -> Iterator[Mistake]:
        """A size that doesn't fit the shape, an array that runs into itself, two lobes."""
        rectangle, disc = ("width_mm", "height_mm"), ("diameter_mm",)
        wanted, unwanted = (rectangle, disc) if self.shape == "rectangle" else (disc, rectangle)
        yield from self.lacking(*wanted)
        advice = f"give {' and '.join(wanted)}, or change the shape"
        for key, value in self.given(*unwanted).items():
            yield Mistake(key, f"does not belong to a {self.shape}", value, advice)
        width, height = self.size_mm
        yield from self._pitch_mistakes("pitch_mm" if self.edge else "pitch_x_mm", "columns", width)
        if self.edge is None:
            yield from self._pitch_mistakes("pitch_y_mm", "rows", height)
        for key, (problem, advice) in (OFF_BOARD if self.edge else OFF_EDGE).items():
            # As its default says a key may stand.
            if (value := getattr(self, key)) != type(self).model_fields[key].default:
                yield Mistake(key, problem, value, advice)
        yield from self._lobe_mistakes()

    def _lobe_mistakes(self) -> Iterator[Mistake]:
        lobes = self.given("lm63_file", "lm63_text", "cosine_power", "half_angle_deg")
        first, *others = list(lobes) or [""]
        yield from self.beside(first, "each gives the whole lobe: keep one", *others)
        if self.lm63_file is not None:
            problem = "is looked up beside a scene file, but this scene was not read from a file"
            yield Mistake("lm63_file", problem, self.lm63_file)
        if self.lm63_text is None:
            return
        try:
            table = read_lm63(self.lm63_text)
        except Lm63Error as error:
            yield Mistake("lm63_text", str(error))
            return
        backwards = 1.0 - table.flux_within_lm(90.0) / table.flux_lm
        if backwards > MOST_BACKWARDS:
            yield Mistake(
                "lm63_text",
                f"{100.0 * backwards:.0f} % of the table's light leaves backwards, by more than "
                "90° from its axis",
                advice="an emitter lies flat on the board and faces the screen",
            )

    def _pitch_mistakes(self, key: str, count_key: str, size: float) -> Iterator[Mistake]:
        pitch = getattr(self, key)
        if getattr(self, count_key) == 1:
            return
        if pitch is None:
            yield self.missing(key, f"needed with {count_key} > 1")
        elif pitch < size:
            yield Mistake(
                key,
                f"must be at least the size of an emitter, {size:g} mm",
                pitch,
                "emitters may touch but not overlap",
            )

    @property
    def size_mm(self) -> tuple[float, float]:
        """Extent (width, height) of one emitter in millimetres; the diameter twice for a disc."""
        if self.shape == "disc":
            return self.diameter_mm or 0.0, self.diameter_mm or 0.0
        return self.width_mm or 0.0, self.height_mm or 0.0

    @property
    def face_mm2(self) -> float:
        """Area of one emitter's face in mm²."""
        width, height = self.size_mm
        return math.pi * 0.25 * width**2 if self.shape == "disc" else width * height

    @property
    def length_each_mm(self) -> float:
        """The length of an edge in millimetres that each emitter along it has."""
        return self.pitch_mm or self.size_mm[0]

    @property
    def pitches_mm(self) -> dict[str, float]:
        """The pitch in millimetres along each axis on which there is more than one emitter."""
        axes = {"x": (self.columns, self.pitch_x_mm), "y": (self.rows, self.pitch_y_mm)}
        if self.edge is not None:
            axes = {"y" if self.edge[1] == "x" else "x": (self.columns, self.pitch_mm)}
        return {axis: pitch for axis, (count, pitch) in axes.items() if count > 1 and pitch}

    @property
    def count(self) -> int:
        """How many emitters the group has."""
        return self.columns * self.rows

    @property
    def exponent(self) -> float:
        """The power m of the intensity cos^m.

        From a half-intensity angle h: m = -ln 2 / ln cos h (Moreno, Avendaño-Alejo and
        Tzonchev, Appl. Opt. 45, 2265 (2006)). For a measured table it is that of the lobe with the
        same peak intensity I and flux F, m = 2 pi I / F - 1, for estimates: photons follow the
        table itself.
        """
        if (table := self.intensity) is not None:
            return max(0.0, 2.0 * math.pi * float(table.candela.max()) / table.flux_lm - 1.0)
        if self.half_angle_deg is not None:
            return -math.log(2.0) / math.log(math.cos(math.radians(self.half_angle_deg)))
        return 1.0 if self.cosine_power is None else self.cosine_power

    @property
    def intensity(self) -> IntensityTable | None:
        """The measured table that gives the shape of the lobe, if there is one."""
        return None if self.lm63_text is None else read_lm63(self.lm63_text)

    def columns_mm(self) -> list[float]:
        """The x of every column's centre, rising, in millimetres; on an edge, places along it."""
        if self.edge is not None:
            return _centred(self.along_mm, self.columns, self.pitch_mm)
        return _centred(self.x_mm, self.columns, self.pitch_x_mm)

    def rows_mm(self) -> list[float]:
        """The y of every row's centre, rising, in millimetres."""
        return _centred(self.y_mm, self.rows, self.pitch_y_mm)

    def centres_mm(self) -> list[tuple[float, float]]:
        """The (x, y) of every emitter in millimetres, row by row from the lowest, x rising."""
        columns = self.columns_mm()
        return [(x, y) for y in self.rows_mm() for x in columns]


def _centred(centre: float, count: int, pitch: float | None) -> list[float]:
    step = pitch or 0.0
    return [centre + (index - 0.5 * (count - 1)) * step for index in range(count)]
