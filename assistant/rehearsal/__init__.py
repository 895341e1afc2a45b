"""A rehearsal: a whole case with nobody in the room, on real sound."""
