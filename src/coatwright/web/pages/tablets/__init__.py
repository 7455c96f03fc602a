"""Tablets at this desk: pairing them, the list of them, PINs, and a waiting list brought in as a file."""
