"""Tests of the tables, their types, the sessions and the migrations, on the real engines."""
