"""Reading the coat as it stands."""
