"""Fitting: what makes the shipped fit of the default engine, and measures how well it hears."""
