"""Tests of the reading: what is gathered from the record, on a real database."""
