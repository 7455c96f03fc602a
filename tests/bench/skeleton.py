"""The plain way to count fibres: threshold, skeleton (scikit-image), branches (skan), straightest pairs joined.

Branches of a skeleton run from junction to junction; they are joined here at every junction by the straightest pair
of branches, the least turn first, up to 40 degrees. Length is along the smoothed pixels of the skeleton.
"""

from __future__ import annotations

import numpy as np

from coatwright.paper.filter import LEAST_MM
from coatwright.paper.marks import Rectified
from coatwright.paper.read import see_contrast

MOST_TURN = np.radians(40)
NEAR_PX = 10.0
THRESHOLD = 0.10
"""Contrast; tried from 0.04 to 0.18 and by Otsu and triangle: about here count and lengths together come out best."""
BACK_PX = 20


def branches_and_lines(pixels: np.ndarray, place: Rectified) -> tuple[int, list[np.ndarray], list[float]]:
    """How many branches of 4 mm and more; the joined lines, mm; their lengths, mm."""
    import skan
    from scipy.ndimage import gaussian_filter, gaussian_filter1d
    from scipy.spatial import cKDTree
    from skimage.morphology import remove_small_objects, skeletonize

    contrast, inside = see_contrast(pixels, place)
    smooth = gaussian_filter(contrast.value, 1.0)
    dark = remove_small_objects(smooth > THRESHOLD, max_size=30)
    bones = skeletonize(dark)
    if not bones.any():
        return 0, [], []
    skeleton = skan.Skeleton(bones)
    paths = [
        skeleton.path_coordinates(k)[:, ::-1] + np.array(contrast.corner) for k in range(skeleton.n_paths)
    ]
    paths = [path for path in paths if len(path) >= 6]
    paths = [path for path in paths if inside(place.to_mm(path)).all()]
    if not paths:
        return 0, [], []
    long = sum(float(np.hypot(*np.diff(place.to_mm(p), axis=0).T).sum()) >= LEAST_MM for p in paths)
    tips = np.concatenate([path[[0, -1]] for path in paths]).astype(float)
    back = np.concatenate(
        [path[[min(BACK_PX, len(path) - 1), max(-BACK_PX - 1, -len(path))]] for path in paths]
    )
    heading = tips - back
    heading /= np.maximum(np.hypot(*heading.T), 1e-9)[:, None]
    near = cKDTree(tips).query_pairs(NEAR_PX, output_type="ndarray")
    near = near[near[:, 0] // 2 != near[:, 1] // 2]
    turn = np.arccos(np.clip(-(heading[near[:, 0]] * heading[near[:, 1]]).sum(axis=1), -1, 1))
    mate: dict[int, int] = {}
    for pair in np.argsort(turn, kind="stable"):
        a, b = int(near[pair, 0]), int(near[pair, 1])
        if turn[pair] <= MOST_TURN and a not in mate and b not in mate:
            mate[a], mate[b] = b, a
    lines, left = [], set(range(len(paths)))
    for first in [
        *(k for k in range(len(paths)) if 2 * k not in mate or 2 * k + 1 not in mate),
        *range(len(paths)),
    ]:
        if first not in left:
            continue
        end = 2 * first if 2 * first not in mate else 2 * first + 1
        points = []
        while end // 2 in left:
            left.discard(end // 2)
            points.append(paths[end // 2][::-1] if end % 2 else paths[end // 2])
            end = mate.get(end ^ 1, end)
        lines.append(np.concatenate(points).astype(float))
    smoothed = [place.to_mm(gaussian_filter1d(line, 4.0, axis=0, mode="nearest")) for line in lines]
    lengths = [float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in smoothed]
    kept = [k for k, length in enumerate(lengths) if length >= LEAST_MM]
    return int(long), [smoothed[k] for k in kept], [lengths[k] for k in kept]
