"""Guides on a blank: how many, where, how tall, and how far apart they may stand."""
