"""A second opinion on what was said, by its sounds alone, without a liking for any word."""
