"""Language: number words and the small terms of spoken sentences."""
