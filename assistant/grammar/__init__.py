"""Grammar: what may be said now, and what an engine makes of an utterance."""
