"""Live: the microphone, the loudspeaker, and one case after the other."""
