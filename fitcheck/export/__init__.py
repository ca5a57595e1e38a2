"""Couplings as files: what is asked for is worked out here, and the generators' own process makes the file."""
