"""Tests of the rules: pure values in, answers out."""
