"""Tests in a real browser, against a real server that shows the demo shop."""
