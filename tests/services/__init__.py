"""Tests of the verbs, against a real database."""
