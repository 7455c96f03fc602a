"""A visit: its sheet, logging it, and what it changed."""
