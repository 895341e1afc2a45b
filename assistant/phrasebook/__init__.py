"""Phrasebook: the grammar of each state, from the site's own phrases."""
