"""The plan of a dog: looked at, bent by hand, compared, kept."""
