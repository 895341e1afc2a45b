"""Speaking: wording, voices, the queue, tones."""
