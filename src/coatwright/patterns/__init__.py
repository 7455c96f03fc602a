"""Zones of the coat and breed patterns with the source of every length, all as data."""

from coatwright.patterns.library import copy_with, pattern, patterns, read_pattern
from coatwright.patterns.model import COLOURS, MARKS, Band, Pattern, Source, with_shape
from coatwright.patterns.writing import write_pattern
from coatwright.patterns.zones import Zone, aimed_zones, body_surface, surface_factor, zone, zones

__all__ = [
    "COLOURS",
    "MARKS",
    "Band",
    "Pattern",
    "Source",
    "Zone",
    "aimed_zones",
    "body_surface",
    "copy_with",
    "pattern",
    "patterns",
    "read_pattern",
    "surface_factor",
    "with_shape",
    "write_pattern",
    "zone",
    "zones",
]
