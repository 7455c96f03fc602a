"""A dog's facts, limits and wish: written down and changed."""
