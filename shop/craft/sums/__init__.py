"""The bench calculators: each sum of the trade with its inputs, its working and its source."""
