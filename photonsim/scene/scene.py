"""The scene as a whole: light, housing, emitters and the optical train."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Collection, Iterator, Mapping
from functools import partial
from typing import Any, ClassVar, Self

from pydantic import Field, PrivateAttr, ValidationError

from photonsim.scene.aperture_stop import ApertureStop
from photonsim.scene.changes import changes
from photonsim.scene.cross_checks import Draft, cross_check
from photonsim.scene.drafts import draft_of, refuse_crowds
from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.imaging import Bend, Projection, bends_of, projection_of
from photonsim.scene.light import Light
from photonsim.scene.mistakes import Mistake, SceneError, once_each
from photonsim.scene.model import SceneModel
from photonsim.scene.panel import Panel
from photonsim.scene.plain_text import MOST_OF_TITLE, Lines, OneLine, with_remark
from photonsim.scene.screen import Screen
from photonsim.scene.setting import WHERE, changed_tables, changed_text
from photonsim.scene.supply import AnySupply
from photonsim.scene.train import TrainPart
from photonsim.scene.variants import Variants, values_of
from photonsim.scene.wording import mistakes_of


class Scene(SceneModel):
    """A lamp with its optical train, free of contradictions.

    Lengths in millimetres, angles in degrees; z runs from the base towards the screen. A wrong one
    raises SceneError, with every mistake found. Scenes, and what they are made of, stay as they
    are: `with_numbers` makes others.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> scene.panel.active_width_mm, scene.flux_lm
    (95.04, 900.0)
    """

    unseen: ClassVar[frozenset[str]] = frozenset({"title", "notes", "supply", "variants"})

    title: OneLine = Field(
        default="", max_length=MOST_OF_TITLE, description="what the scene is called"
    )
    notes: Lines = Field(default="", description="free text that travels with the scene")
    light: Light = Field(default=Light(), description="the table of wavelengths")
    housing: Housing = Field(description="the table of the box around the emitters")
    emitters: dict[str, Emitter] = Field(
        description="the named groups of emitters, each under a heading such as [emitters.bars]"
    )
    train: dict[str, TrainPart] = Field(
        description="the named parts in order along z, each under a heading such as [train.film]"
    )
    supply: AnySupply = Field(
        default=None, description="the table of how the emitters are fed and cooled"
    )

    screen: Screen | None = Field(
        default=None, description="the table of the screen (default: light is counted at the stop)"
    )

    variants: Variants = Field(
        default={},
        description="the named variants: what is otherwise than in the scene, by path, each under "
        "a heading such as [variants.wide]",
    )

    # The text itself, or what makes it once it is asked for: most designs of a study are never.
    _verbatim: str | Callable[[], str | None] | None = PrivateAttr(default=None)

    def __repr__(self) -> str:
        """Tell the lamp in a few lines."""
        groups = [f"{name} {one.count} × {one.flux_lm:g} lm" for name, one in self.emitters.items()]
        parts = [f"{name} {part.z_mm:g}" for name, part in self.train.items()]
        box = (self.housing.width_mm, self.housing.height_mm, self.housing.depth_mm)
        lines = [f"Scene '{self.title or 'untitled'}'"]
        for head, told in (
            ("housing", f"{' × '.join(f'{side:g}' for side in box)} mm"),
            ("emitters", ", ".join(groups)),
            ("train", f"{', '.join(parts)} mm from the base"),
            ("screen", "none" if self.screen is None else repr(self.screen)),
        ):
            first, rest = f"  {head:<10}", " " * 12
            lines += textwrap.wrap(
                told, 80, initial_indent=first, subsequent_indent=rest, max_lines=3
            )
        return "\n".join(lines)

    @property
    def text(self) -> str:
        """The text the scene was read from, to the letter; the scene as TOML if it had none."""
        text = self._verbatim
        if callable(text):
            text = self._verbatim = text()
        if text is None:
            from photonsim.scene.writing import to_toml

            text = to_toml(self)
        return text

    def with_text(self, text: str) -> Self:
        """The same scene, remembering the text it was read from."""
        copy = self.model_copy()
        copy._verbatim = text
        return copy

    def model_copy(self, *, update: Mapping[str, Any] | None = None, deep: bool = False) -> Self:
        """Copy the scene; a changed copy forgets the text, which no longer describes it."""
        copy = super().model_copy(update=update, deep=deep)
        if update:
            copy._verbatim = None
        return copy

    def __eq__(self, other: object) -> bool:
        """Scenes are equal when they describe the same lamp, whatever text they came from."""
        if not isinstance(other, Scene):
            return NotImplemented
        return all(getattr(self, name) == getattr(other, name) for name in Scene.model_fields)

    def with_numbers(
        self, values: Mapping[str, Any], ties: Mapping[str, str] | None = None
    ) -> Scene:
        """Return the scene with other numbers or words, by their paths, validated again.

        Keys that were left out may be set too, and a whole table by its keys; False takes a key,
        part or table out. `ties` maps a path to the one whose number it takes over. Comments of
        the scene's text are kept. Raises SceneError for an unknown path and for numbers that make
        no possible lamp.

        >>> import photonsim
        >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
        >>> wider = scene.with_numbers({"train.film.z_mm": 16, "train.film.strips.gap_mm": 8})
        >>> wider.train["film"].z_mm, wider.train["film"].strips.width_mm
        (16.0, 10.0)
        """
        build = partial(scene_from_dict, where=WHERE)
        tables = changed_tables(self, values, ties or {}, build)
        changed = build(tables)
        changed._verbatim = partial(
            changed_text, self, dict(values), dict(ties or {}), build, tables
        )
        return changed

    def variant(self, name: str) -> Scene:
        """Return a variant of the scene, named in its title; it has no variants of its own.

        Raises SceneError where there is none of this name, or where it makes no possible lamp.

        >>> import photonsim
        >>> text = photonsim.load_scene("scenes/d_split_film.toml").text
        >>> scene = photonsim.parse_scene(text + "[variants.high]\\ntrain.film.z_mm = 16")
        >>> scene.variant("high").train["film"].z_mm
        16.0
        """
        values = values_of(self.variants, name)
        if self.title and "title" not in values:
            values["title"] = with_remark(self.title, name.replace("_", " "))
        return self.with_numbers(values | {"variants": False})

    def is_same_lamp(self, other: Scene) -> bool:
        """Tell whether two scenes are the same to a photon: all but what tables name `unseen`."""
        return not changes(self, other)

    @property
    def panel_name(self) -> str:
        """The name of the panel in the train."""
        return next(name for name, part in self.train.items() if isinstance(part, Panel))

    @property
    def panel(self) -> Panel:
        """The panel."""
        return next(part for part in self.train.values() if isinstance(part, Panel))

    @property
    def stop_name(self) -> str:
        """The name of the aperture stop in the train."""
        return next(name for name, part in self.train.items() if isinstance(part, ApertureStop))

    @property
    def stop(self) -> ApertureStop:
        """The aperture stop."""
        return next(part for part in self.train.values() if isinstance(part, ApertureStop))

    @property
    def flux_lm(self) -> float:
        """Luminous flux of all emitters together in lumens."""
        return sum(group.flux_lm * group.count for group in self.emitters.values())

    def part_size_mm(self, name: str) -> tuple[float, float]:
        """Outer (width, height) of a part of the train in millimetres, defaults filled in.

        A lens or stop gives its diameter twice. Raises KeyError for a name not in the train.
        """
        part = self.train[name]
        width, height = part.outline_mm
        if width is None or height is None:
            opening = self.housing.opening_mm(part.z_mm)
            if part.is_thick:
                # It fits in over all of its thickness.
                end = self.housing.opening_mm(min(part.end_mm, self.housing.depth_mm))
                opening = min(opening[0], end[0]), min(opening[1], end[1])
            width = opening[0] if width is None else width
            height = opening[1] if height is None else height
        return width, height

    def bends(self, names: Collection[str] | None = None) -> list[Bend]:
        """The faces and thin lenses of the lenses in the train, or of those named, along z."""
        chosen = {name: part for name, part in self.train.items() if names is None or name in names}
        return bends_of(chosen, self.light.mean_nm)

    @property
    def projection(self) -> Projection | None:
        """How the picture comes about; None where no screen is meant or none can catch it."""
        if self.screen is None:
            return None
        last = max(part.end_mm for part in self.train.values())
        return projection_of(self.bends(), self.panel, self.stop.z_mm, last, self.screen)

    def contradictions(self) -> Iterator[Mistake]:
        """Everything that is wrong between the tables of the scene."""
        found = cross_check(
            Draft(
                housing=self.housing,
                emitters=self.emitters,
                train=self.train,
                emitter_names=tuple(self.emitters),
                kinds={name: part.kind for name, part in self.train.items()},
            )
        )
        yield from found
        if not found and self.screen is not None and self.projection is None:
            yield Mistake(
                "screen",
                "the lenses behind the panel bring no picture to a screen beyond the train",
                advice="give distance_mm; photonsim check then says how far to move the objective",
            )


def scene_from_dict(data: dict[str, Any], where: str = "scene") -> Scene:
    """Build a scene from plain values as TOML gives them.

    Raises SceneError with every mistake found: those within the tables, and those between the
    tables that have none of their own.
    """
    refuse_crowds(data, where)
    try:
        return Scene.model_validate(data)
    except ValidationError as error:
        found = mistakes_of(error, Scene)
    # If every table was sound, the validation has told of the mistakes between them already.
    between = cross_check(draft_of(data)) if isinstance(data, dict) else []
    raise SceneError(once_each(found + between), where)
