"""Tackfree: the job tracker of a small shop that builds fishing rods to order."""
