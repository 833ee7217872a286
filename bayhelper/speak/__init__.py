"""Turns what is to be said into words, and words into sound."""
