"""Writes: verbs as functions that take a session, keyword values and now; they never commit."""
