"""Coatwright: plans the hand-stripping of a dog's coat."""

__version__ = "0.1.0"
