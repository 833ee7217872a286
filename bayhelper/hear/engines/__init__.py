"""Recognisers, one file each, and what they are built from."""
