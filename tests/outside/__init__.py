"""Tests of the thin modules around other people's libraries."""
