"""Owners, handlers, groomers."""
