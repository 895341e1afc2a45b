"""Models that no wheel carries: what is known, what is installed, and how one gets there whole."""
