"""The simulated patient of a rehearsal, and the oximeter on its finger."""
