"""Meaning: what may be said now, and what it stands for."""
