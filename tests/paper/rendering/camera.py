"""A camera over the sheet: pinhole with one radial coefficient, turned and tilted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tests.paper.rendering.styles import Style


@dataclass(frozen=True)
class Camera:
    """``rotation`` maps page axes (x right, y down, z up towards the eye) into camera axes (z forward)."""

    rotation: np.ndarray
    centre: np.ndarray
    focal: float
    barrel: float
    size: tuple[int, int]
    """Width, height in px."""

    def project(self, space: np.ndarray) -> np.ndarray:
        """Pixels (n, 2) of points (n, 3) mm over the page."""
        seen = (np.asarray(space, float) - self.centre) @ self.rotation.T
        xy = seen[:, :2] / seen[:, 2:]
        xy = xy * (1 + self.barrel * (xy**2).sum(axis=1, keepdims=True))
        return xy * self.focal + np.array(self.size) / 2

    def to_page(self, pixels: np.ndarray) -> np.ndarray:
        """The points (n, 2) mm of the page (z = 0) seen at pixels (n, 2)."""
        bent = (np.asarray(pixels, float) - np.array(self.size) / 2) / self.focal
        xy = bent.copy()
        for _ in range(8):
            xy = bent / (1 + self.barrel * (xy**2).sum(axis=1, keepdims=True))
        rays = np.concatenate([xy, np.ones((len(xy), 1))], axis=1) @ self.rotation
        along = -self.centre[2] / rays[:, 2]
        return self.centre[:2] + rays[:, :2] * along[:, None]


def place_camera(
    style: Style, page: tuple[float, float], tilt: float, rng: np.random.Generator, size: tuple[int, int]
) -> Camera:
    """A camera that sees the whole page, ``tilt`` degrees off the vertical."""
    distance = rng.uniform(*style.distance_mm)
    azimuth, turn = rng.uniform(0, 2 * np.pi), np.radians(rng.normal(0, 2.0))
    t = np.radians(tilt)
    middle = np.array([page[0] / 2, page[1] / 2, 0.0])
    forward = -np.array([np.sin(t) * np.cos(azimuth), np.sin(t) * np.sin(azimuth), np.cos(t)])
    centre = middle - forward * distance
    across = np.array([np.cos(turn), np.sin(turn), 0.0])
    across = across - forward * (across @ forward)
    across /= np.linalg.norm(across)
    down = np.cross(forward, across)
    if down[1] < 0:
        down = -down
    rotation = np.stack([across, down, forward])
    barrel = rng.uniform(*style.barrel)
    corners = np.array([[0, 0, 0], [page[0], 0, 0], [page[0], page[1], 0], [0, page[1], 0]], float)
    unit = Camera(rotation, centre, 1.0, barrel, (0, 0))
    reach = np.abs(unit.project(corners)).max(axis=0)
    focal = float(min(size[0] / 2 / reach[0], size[1] / 2 / reach[1])) * rng.uniform(0.94, 0.98)
    return Camera(rotation, centre, focal, barrel, size)
