"""A scene of sheets, plugs and corals, photographed; what is true of it beside the photo."""

from dataclasses import dataclass, field

import numpy as np

from tests.growth.scenes.camera import Array, Camera, Grey, focal_35_of
from tests.growth.scenes.paint import Relief
from tests.growth.scenes.sensor import Look, grey_of, jpeg_of
from tests.growth.scenes.shapes import Shape
from tests.growth.scenes.textures import Print, PrintedLabel


@dataclass(frozen=True)
class Bend:
    """Say how a sheet lies: lifted, leaning along its sides, its ends curled up; in mm.

    ``lean`` are rises per mm to the right and down, ``curl_mm`` how far its left and right
    ends stand above its middle.
    """

    lift_mm: float = 0.0
    lean: tuple[float, float] = (0.0, 0.0)
    curl_mm: float = 0.0


@dataclass(frozen=True)
class Sheet:
    """Hold a printed piece that lies in a scene, by its top left corner and its turn.

    ``algae`` is the share of it that is fouled, ``opacity`` how much that hides.
    """

    printed: Print
    at_mm: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0
    bend: Bend = field(default_factory=Bend)
    algae: float = 0.0
    opacity: float = 0.7
    label: PrintedLabel | None = None

    @property
    def axes(self) -> Array:
        """Return the directions of its sides as rows."""
        cos, sin = np.cos(np.radians(self.turn_deg)), np.sin(np.radians(self.turn_deg))
        return np.array([[cos, sin], [-sin, cos]])

    def in_scene(self, points_mm: Array) -> Array:
        """Return where points of the sheet lie in the scene."""
        return np.asarray(points_mm @ self.axes + self.at_mm)

    def on_sheet(self, points_mm: Array) -> Array:
        """Return where points of the scene lie on the sheet."""
        return np.asarray((points_mm - self.at_mm) @ self.axes.T)

    def rise(self, points_mm: Array) -> Array:
        """Return how high points of the sheet lie."""
        bend, width = self.bend, self.printed.size_mm[0]
        curl = bend.curl_mm * (2 * points_mm[:, 0] / width - 1) ** 2
        return np.asarray(bend.lift_mm + points_mm @ np.array(bend.lean) + curl)

    @property
    def relief(self) -> Relief:
        """Return how high the sheet lies above points of the scene."""
        return lambda points: self.rise(self.on_sheet(points))


@dataclass(frozen=True)
class Frag:
    """Hold a coral of known outline in the plane z = height, on a plug or without one."""

    shape: Shape
    at_mm: tuple[float, float]
    height_mm: float
    turn_deg: float = 0.0
    plug_mm: float = 0.0
    plug_height_mm: float = 0.0
    plug_at_mm: tuple[float, float] | None = None

    @property
    def outline_mm(self) -> Array:
        """Return its outline in the scene."""
        return self.shape.at(*self.at_mm, turn_deg=self.turn_deg)


@dataclass(frozen=True)
class Glare:
    """Hold a reflection of the lamp: where, how wide (deviation in mm) and how bright."""

    at_mm: tuple[float, float]
    size_mm: float
    light: float


@dataclass(frozen=True)
class Scene:
    """Hold all that a photo is made from; the same scene gives the same photo."""

    camera: Camera
    sheets: tuple[Sheet, ...] = ()
    frags: tuple[Frag, ...] = ()
    look: Look = field(default_factory=Look)
    glares: tuple[Glare, ...] = ()
    seed: int = 1
    fine: int = 3


@dataclass(frozen=True)
class SeenLabel:
    """Say of a label in a photo what is true: corners of its symbol in pixels, and its state.

    ``fouled`` is the share of the symbol under algae, ``is_hidden`` that something stands
    before a part of it or that it is not all in the picture.
    """

    code: str
    text: str
    corners_px: Array
    module_px: float
    symbol_mm: float
    version: int
    fouled: float
    is_hidden: bool


@dataclass(frozen=True)
class SeenFrag:
    """Say of a coral in a photo what is true."""

    name: str
    outline_mm: Array
    outline_px: Array
    height_mm: float
    area_mm2: float
    diameter_mm: float
    tap_px: tuple[float, float]
    plug_mm: float


@dataclass(frozen=True)
class Shot:
    """Hold a photo, upright, and what is true of it."""

    rgb: Grey
    camera: Camera
    labels: tuple[SeenLabel, ...]
    frags: tuple[SeenFrag, ...]
    look: Look

    @property
    def grey(self) -> Grey:
        """Return the photo in grey."""
        return grey_of(self.rgb)

    @property
    def frag(self) -> SeenFrag:
        """Return its only coral."""
        (found,) = self.frags
        return found

    @property
    def label(self) -> SeenLabel:
        """Return its only label."""
        (found,) = self.labels
        return found

    def jpeg(self, *, exif: bool = True, focal_35_mm: int | None = None, side: int = 1) -> bytes:
        """Return the file that a phone writes.

        Args: ``exif`` says whether the lens is named, ``focal_35_mm`` something other than the
            truth, ``side`` the Exif orientation in which the picture is stored.
        """
        size = (self.camera.width, self.camera.height)
        true = round(focal_35_of(self.camera.focal_px, size=size))
        said = (focal_35_mm or true) if exif else None
        return jpeg_of(self.rgb, quality=self.look.quality, focal_35_mm=said, orientation=side)
