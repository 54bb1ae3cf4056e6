"""Reads: the only home of `select()`; frozen views for pages and API."""
