"""Hearing: sound in, readings of a closed grammar out."""
