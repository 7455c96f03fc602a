"""Shows."""
