"""Audio: the one form of sound, its levels, its devices."""
