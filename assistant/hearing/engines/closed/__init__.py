"""The default engine: a closed grammar scored by an encoder-decoder model."""
