"""Tests of the commands, each run as a process of its own, as a person runs them."""
