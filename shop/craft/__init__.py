"""The trade's sums, pure: no input or output, no clock, no framework."""
