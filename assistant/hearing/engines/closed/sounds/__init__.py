"""A second opinion on a plain answer: by its sounds alone, without a liking for any word."""
