"""The same as the pages, for programs."""
