"""Tests that read the tree itself and hold the house rules."""
