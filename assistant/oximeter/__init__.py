"""The oximeter: frames to samples, the crossing rule, and the watcher."""
