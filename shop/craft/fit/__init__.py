"""How parts fit the blank and each other: cut lengths, shoulders, bores, bushings, the order to slide on."""
