"""The arithmetic of the trade: pure functions."""
