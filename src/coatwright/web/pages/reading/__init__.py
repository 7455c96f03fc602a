"""Comb and ruler: what is read of a coat at the table, zone by zone."""
