"""What can happen in a case, each with what it changes; the record holds nothing else of a case."""
