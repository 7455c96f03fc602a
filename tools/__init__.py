"""Tools for those who work on Coatwright; none of it goes into the package."""
