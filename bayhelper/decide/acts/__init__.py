"""What can be asked for: one function an act."""
