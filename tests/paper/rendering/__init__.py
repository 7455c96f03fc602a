"""Photographs of hairs on the printed sheet, drawn with exact truth: for tests, for figures and for training."""

from tests.paper.rendering.photo import Photo, again, render
from tests.paper.rendering.styles import FIGURES, TRAINING, Style

__all__ = ["FIGURES", "TRAINING", "Photo", "Style", "again", "render"]
