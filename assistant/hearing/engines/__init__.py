"""The recognisers, each behind the same small protocol."""
