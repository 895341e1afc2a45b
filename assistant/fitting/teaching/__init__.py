"""The model of sounds is taught further: to hear through noise what it hears without."""
