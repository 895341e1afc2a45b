"""The debrief: a case read back."""
