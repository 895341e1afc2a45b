"""Conversation: hearing, brief, journal and speaking joined for one case."""
