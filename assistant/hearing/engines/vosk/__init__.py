"""Vosk, for a site that has a model of its own language."""
