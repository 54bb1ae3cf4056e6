"""Tests of what is shipped: the wheel, the lock file and the commands in an empty environment."""
