"""The journal: one case, one folder, durable."""
