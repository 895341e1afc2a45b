"""Dosing: formulary, weights and the arithmetic between them."""
