"""A salon of invented dogs and people, the same every time, with dates relative to today."""

from coatwright.demo.salon import demo_dogs, fill, make_demo

__all__ = ["demo_dogs", "fill", "make_demo"]
