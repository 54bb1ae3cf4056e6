"""Tests of pages and of what pages are drawn with."""
